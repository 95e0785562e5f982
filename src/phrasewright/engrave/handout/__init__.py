"""The printed handout: a sheet of plain values laid out by typst."""
