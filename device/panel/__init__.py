"""Chooses what the panel shows, and draws it."""
