"""The benchmark's quick form: fails only on gross loss, such as wrong octaves, never on time."""

import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.heavy
@pytest.mark.skipif(find_spec("librosa") is None, reason="the benchmark's extra is not installed (bench)")
def test_nothing_is_grossly_lost_beside_other_methods(tmp_path):
    command = [sys.executable, "-m", "tests.bench", "--quick", "--out", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    page = (tmp_path / "README.md").read_text()
    assert "Settled tones in white noise" in page
    assert "Methods side by side" in page
