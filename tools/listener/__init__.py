"""How the listener's network is trained: notes, takes made of them, what spoils takes, the network, the training.

``python -m tools.listener.gather`` collects the notes on a machine with the sounds; ``python -m tools.listener.train``
trains, best on a machine with a GPU; ``python -m tools.listener.ship`` writes the weights that the program loads.
"""
