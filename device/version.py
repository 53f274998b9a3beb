"""Which version this is; it stands nowhere else. `systemd/changes.md` tells owners what is new in it."""

VERSION = "0.2.0"
DATE = "2026-11-26"  # of this version, not of the computer
