"""The soak command's own watch, on half a minute; the hours are run by command."""

from dataclasses import replace

import pytest

from tests.soak import Watch, soaked


def test_a_while_in_the_practice_room_has_no_missed_pluck_and_no_false_claim():
    watch = soaked(1.0 / 144.0, seed=3)
    assert watch.plucks > 3
    assert watch.missed == []
    assert watch.false == []


@pytest.mark.heavy
@pytest.mark.parametrize(("shift", "kept"), [("missed", 0.7), ("false", 1.5)])
def test_it_would_notice(monkeypatch, shift, kept):
    """Readings a fifth of an octave off are false; readings a little off leave plucks unheard."""
    hear = Watch._judge
    monkeypatch.setattr(
        Watch,
        "_judge",
        lambda self, event: hear(self, replace(event, frequency_hz=kept * event.frequency_hz)),
    )
    assert getattr(soaked(1.0 / 200.0, seed=3), shift)
