"""The model of what should sound: notes, measures, parts, chart, tempo."""
