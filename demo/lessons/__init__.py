"""Simulated lessons: a player, an instrument and something on the wall, in a closed loop."""
