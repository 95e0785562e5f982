"""From audio to music: recordings read, their beats found."""
