"""Published tables: rows of data under their citation, and look-ups that round to the safe side.

- `lookup`: how every table is read, and the one error they raise (`NotListedError`)
- `alloys`: metals and tempers: density, modulus, expansion, least bend radius, fillers
- `fillers`: welding rods, and which of them suits which metal
- `gauges`: sheet gauge numbers in mm
- `heat`: how metals carry heat away
- `minutes`: standard times of the shop's work
- `sawing`: rim speed and feed of circular saws
- `tacks`: how far apart thin sheet is tacked
- `tolerances`: ISO 2768-1, ISO 13920, EN 485-4
- `welding`: TIG and MIG starting figures by thickness, arc volts, heat input

"from memory" beside a figure means that it was written down without the print at hand: check it before relying
on it.
"""
