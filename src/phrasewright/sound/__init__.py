"""A score as sound: timed events, instrument models, stems, mix, files."""
