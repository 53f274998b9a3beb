"""What the panel shows: the scene is chosen, then drawn."""
