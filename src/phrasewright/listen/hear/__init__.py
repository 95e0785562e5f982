"""What a take sounds like, note by note: pitch, technique, tuning."""
