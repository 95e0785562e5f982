"""Hard rules of a study, each an idea of its own."""
