"""Fretted instruments, positions on the neck, and the hand that plays them."""
