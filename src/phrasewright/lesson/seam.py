"""Temporary: names that other packages will give."""

GROOVES = {"straight": ("4/4",), "shuffle": ("4/4",), "swing": ("4/4", "3/4"), "slow 12/8": ("12/8",)}
