"""Published tables: rows of data under their citation, and look-ups that round to the safe side.

- `lookup`: how every table is read, and the one error they raise (`NotListedError`)
- `alloys`: metals and tempers: density, modulus, expansion, least bend radius, fillers
- `fillers`: welding rods, and which of them suits which metal
- `gauges`: sheet gauge numbers in mm
- `minutes`: standard times of the shop's work
- `sawing`: rim speed and feed of circular saws
- `tolerances`: ISO 2768-1, ISO 13920, EN 485-4
- `welding`: TIG starting figures by thickness

"from memory" beside a figure means that it was written down without the print at hand: check it before relying
on it.
"""
