"""The teacher's desk: what a lesson shows while it is being made, what can be done to it, and how it sounds."""
