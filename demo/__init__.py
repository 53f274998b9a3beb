"""A simulated box: instruments with mechanics of their own, players, and stand-in parts."""
