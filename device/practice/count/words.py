"""What Count shows, as a line of words for whoever cannot see the panel."""

from device.config.settings import Settings
from device.practice.count.session import CountPhase, CountState


def count_words(state: CountState, _settings: Settings) -> str | None:
    """What is told of a bar; None while it is counted in or played."""
    if state.phase is CountPhase.READY:
        return "pluck to begin"
    if state.phase is CountPhase.HIDDEN:
        return "you decide, then press next"
    if state.phase is not CountPhase.TOLD or state.judged is None:
        return None
    told = ", ".join(timing.value for timing in state.judged.timings)
    extra = f", and {len(state.judged.extra_s)} extra" if state.judged.extra_s else ""
    return f"{told}{extra}"
