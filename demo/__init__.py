"""A simulated instrument, simulated players and simulated parts: the box without the box.

`instrument.py` has mechanics of its own (from `materials.py` and `geometry.py`) and knows nothing
of the coach, so that a coach with a wrong table fails here. `players.py` reads only what the panel
says. The rest is the closed loop between them, once for statistics (`lessons.py`, `cells.py`) and once for
the eyes (`show.py`, `terminal.py`).
"""
