"""A bowed instrument as physics has it: cores, shafts, screws, a body that gives.

Nothing in this package knows that a box hangs on the wall. It has formulas and figures of its own, so a
box that reckons wrongly is found out here: `tests/test_instrument.py` holds it to its imports.
"""
