"""From the sound of a take to its notes."""
