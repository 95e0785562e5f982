"""A score on paper and screen: notation, tablature, neck diagrams, handout, exchange files, words."""
