"""One file for each kind of thing a browser asks for."""
