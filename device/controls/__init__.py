"""Handles the push buttons: debouncing, what each press does, the menu and its pages."""
