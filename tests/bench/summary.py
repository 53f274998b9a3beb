"""The lines that open the results: what the tables beneath them say, read from the tables' own files."""

import csv
from pathlib import Path

Rows = list[dict[str, str]]


def lines(folder: Path) -> list[str]:
    """At most ten lines, one for each question; a table not measured with the recorded plucks is left out."""
    made = [say(folder) for say in (_strings, _low_strings, _wrong, _honest, _others, _poor, _gate, _shift)]
    made += [say(folder) for say in (_false, _cost)]
    return [line for line in made if line]


def _table(folder: Path, name: str) -> Rows:
    path = folder / f"{name}.csv"
    if not path.exists() or _commit(folder, name) != _commit(folder, "recorded"):
        return []
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def _commit(folder: Path, name: str) -> str | None:
    """Where a table was measured; lines of one page speak of one tracker."""
    page = folder / f"{name}.md"
    return page.read_text().rsplit("at commit ", 1)[-1].strip() if page.exists() else None


def _row(rows: Rows, first: str) -> dict[str, str] | None:
    return next((row for row in rows if next(iter(row.values())) == first), None)


def _heard(folder: Path, names: tuple[str, ...], moments: tuple[str, ...]) -> str:
    rows = _table(folder, "recorded")
    told = []
    for name in names:
        row = _row(rows, name)
        if row is None:
            return ""
        off = ", ".join(f"{row[f'median {t} s']}/{row[f'95 % {t} s']} at {t} s" for t in moments)
        early, late = row["by 0.1 s %"], row["by 0.15 s %"]
        told.append(
            f"{name} ({row['notes']} notes) answered {early} % by 0.1 s, {late} % by 0.15 s; off {off}"
        )
    return "; ".join(told)


def _strings(folder: Path) -> str:
    """What a real string gets."""
    said = _heard(folder, ("guitar", "bass x4"), ("0.1", "0.3", "0.6"))
    return said and f"Recorded plucks, median/95 % cents off where the note settles: {said}."


def _low_strings(folder: Path) -> str:
    said = _heard(folder, ("bass x2", "bass x1"), ("0.3", "0.6"))
    return said and f"Low recorded strings, time in proportion to their period: {said}."


def _wrong(folder: Path) -> str:
    rows = _table(folder, "recorded")
    if not rows:
        return ""
    kinds = ", ".join(f"{_total(rows, kind)} {kind}" for kind in ("octave", "sub", "other", "silent"))
    return (
        f"Of {_total(rows, 'notes')} recorded plucks, notes with a wrong reading, and without any: {kinds}."
    )


def _honest(folder: Path) -> str:
    rows = _table(folder, "recorded")
    told = [f"{row['sounds']} {row['1 se 0.3 s %']}/{row['2 se 0.3 s %']} %" for row in rows]
    return f"Inside one/two stated errors at 0.3 s: {', '.join(told)}." if told else ""


def _others(folder: Path) -> str:
    """Where another method is ahead of us, moment by moment, and none of its notes wrong."""
    rows = _table(folder, "recorded_methods")
    ahead, compared = [], 0
    for ours in (r for r in rows if r["method"] == "Wallpeg"):
        for moment in ("0.1", "0.2", "0.3", "0.6"):
            better = [r["method"] for r in rows if r["sounds"] == ours["sounds"] and _beats(r, ours, moment)]
            compared += 1
            if better:
                ahead.append(f"{ours['sounds']} at {moment} s ({_some(better)})")
    if not compared:
        return ""
    places = "; ".join(ahead) or "nowhere"
    return (
        "Other methods that answer as many notes, none of them wrong, and are ahead on median or 95 %, in"
        f" {len(ahead)} of {compared} comparisons: {places}."
    )


def _beats(theirs: dict[str, str], ours: dict[str, str], moment: str) -> bool:
    if theirs is ours or _number(theirs[f"wrong {moment} s"]) > 0.0:
        return False
    if _number(theirs[f"answered % {moment} s"]) < _number(ours[f"answered % {moment} s"]):
        return False
    return any(
        _number(theirs[f"{what} {moment} s"], 1e9) < _number(ours[f"{what} {moment} s"], 1e9)
        for what in ("median", "95 %")
    )


def _poor(folder: Path) -> str:
    rows = _table(folder, "recorded_conditions")
    poor = [row for row in rows if row["condition"] != "clean"]
    if not poor:
        return ""
    clean = {row["sounds"]: _number(row["by 0.15 s %"]) for row in rows if row["condition"] == "clean"}
    loss, where = max(
        (clean[row["sounds"]] - _number(row["by 0.15 s %"]), f"{row['sounds']}, {row['condition']}")
        for row in poor
    )
    wrong = sum(_total(poor, kind) for kind in ("octave", "sub", "other"))
    return (
        f"In noise, a small room, by a cheap microphone, at half the rate, in a small file: {wrong} wrong of"
        f" {_total(poor, 'notes')} notes; by 0.15 s at most {loss:.0f} % fewer heard than clean ({where})."
    )


def _gate(folder: Path) -> str:
    rows = _table(folder, "recorded_equal")
    if not rows:
        return ""
    plucks, lost = _total(rows, "plucks"), _total(rows, "not heard") + _total(rows, "not followed")
    return (
        f"Equally loud recorded plucks through the gate: {plucks - lost} of {plucks} followed;"
        f" {_total(rows, 'taken for ours')} of {_total(rows, 'neighbours')} softer neighbours taken for ours."
    )


def _shift(folder: Path) -> str:
    rows = [r for r in _table(folder, "recorded_shift") if r["method"] == "Wallpeg, as `listen` reports"]
    told = [f"{row['sounds']} {row['median']}/{row['95 %']}" for row in rows]
    return f"A shift of one recorded note, median/95 % cents missed: {', '.join(told)}." if told else ""


def _false(folder: Path) -> str:
    rows = _table(folder, "false_readings")
    told = [f"{r['sound']} {r['soundings that do']}" for r in rows if "with open" not in r["sound"]]
    if not told:
        return ""
    hours = _number(rows[0]["seconds"]) / 3600.0
    said = _total(rows, "in tune said")
    return f"Soundings that name a string, {hours:.2g} h of each: {', '.join(told)}; in tune said: {said}."


def _cost(folder: Path) -> str:
    rows = _table(folder, "cost") + _table(folder, "dearest")[:1]
    told = [f"{row['sound']}: {row['CPU s per s']} ({_counted(row)})" for row in rows]
    return (
        f"Processor seconds a second of sound (million instructions), tracker alone: {'; '.join(told)}."
        if told
        else ""
    )


def _some(names: list[str]) -> str:
    more = f" and {len(names) - 2} more" if len(names) > 2 else ""
    return ", ".join(names[:2]) + more


def _counted(row: dict[str, str]) -> str:
    values = [value for name, value in row.items() if name.startswith("million") and value != "-"]
    return values[0] if values else "not counted"


def _total(rows: Rows, column: str) -> int:
    return sum(int(_number(row[column])) for row in rows)


def _number(text: str, unknown: float = 0.0) -> float:
    return float(text) if text not in {"-", ""} else unknown
