"""Under which licences the wheels of the bundle stand, as each wheel itself says.

A wheel's METADATA names its licence as an SPDX expression (PEP 639), in a free text or as a
classifier (core metadata specification); the texts lie in the wheel beside it.
"""

import email
import zipfile
from email.message import Message
from pathlib import Path

UNSAID = "names no licence: see its texts"
TEXTS = ("LICEN", "COPYING", "NOTICE", "AUTHORS")  # how files with such texts begin


def licences(wheels: Path) -> str:
    """A page with a line for each project, and the names of the texts in its wheel."""
    lines = dict(licence_entry(wheel) for wheel in sorted(wheels.glob("*.whl")))
    head = (
        "What the bundle holds beside Wallpeg itself, and under which licences. The texts lie in the wheels."
    )
    return "\n".join([head, "", *(lines[name] for name in sorted(lines))]) + "\n"


def licence_entry(wheel: Path) -> tuple[str, str]:
    """Name and version of a wheel's project, and its line."""
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        inside = next(name for name in names if name.endswith(".dist-info/METADATA"))
        metadata = email.message_from_string(archive.read(inside).decode())
    texts = sorted(Path(name).name for name in names if _is_text(name))
    called = f"{metadata['Name']} {metadata['Version']}"
    return called, f"{called}: {stated(metadata)} ({', '.join(dict.fromkeys(texts)) or 'no text in it'})"


def stated(metadata: Message) -> str:
    """The licence as the metadata names it, in one line."""
    classified = [
        value.rpartition(" :: ")[2]
        for value in metadata.get_all("Classifier", [])
        if value.startswith("License ::")
    ]
    free = str(metadata["License"] or "").strip().splitlines()
    said = metadata["License-Expression"] or ", ".join(classified) or (free[0] if free else UNSAID)
    return str(said)


def _is_text(name: str) -> bool:
    return ".dist-info/" in name and not name.endswith("/") and Path(name).name.upper().startswith(TEXTS)
