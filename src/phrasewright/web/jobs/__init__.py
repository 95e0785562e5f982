"""Heavy work beside the studio: building packs and listening to takes, each in a process of its own."""
