"""Sets up what every test shares."""

import signal
from pathlib import Path

import pytest
from hypothesis import settings

# The same examples on every machine and every day: a red test can be seen red again. A longer, random
# search is `pytest --hypothesis-profile=search`.
settings.register_profile("same", derandomize=True, deadline=None, database=None)
settings.register_profile("search", max_examples=2000, deadline=None)
settings.load_profile("same")

# A shell starts what it puts in the background deaf to ctrl-C, and that is inherited: without this
# the tests that interrupt a program would wait for ever there.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(autouse=True)
def _signals_as_before():
    """A command that answers signals in its own way does so no longer than its test.

    What was left of one made the workers of a later test deaf to their end, which hung now and then.
    """
    before = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}
    yield
    for number, handler in before.items():
        signal.signal(number, handler)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Where the recorded plucks lie; `tests/bench/recorded_notes.py` says which they are."""
    parser.addoption("--recorded", type=Path, default=None, help="folder of recorded plucks; none: skip")


@pytest.fixture(scope="session")
def recorded(request: pytest.FixtureRequest) -> Path:
    """The folder of recorded plucks; a test that needs it is skipped with the reason where it is missing."""
    from tests.bench.recorded_notes import missing  # noqa: PLC0415 - needs the benchmark's libraries

    pytest.importorskip("scipy", reason="the benchmark's extra is not installed (bench)")
    folder: Path | None = request.config.getoption("--recorded")
    if reason := missing(folder):
        pytest.skip(reason)
    assert folder is not None
    return folder
