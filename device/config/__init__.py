"""Holds what can be set: settings and hardware, how they are written, and which value applies."""
