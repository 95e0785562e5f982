"""From the sound of a take to its notes: when, how high, how played, in which tuning."""
