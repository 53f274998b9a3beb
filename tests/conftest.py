"""Fixtures every test may use."""
