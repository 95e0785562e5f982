"""The studio: lessons made, played and recorded in a browser, on the same files as the command line."""
