"""What jobs took against what was expected: sums in the database, plots, files for a spreadsheet."""
