"""``python -m photolog`` is the command, where the command is not on the path."""

import subprocess
import sys


def test_it_runs_as_a_module():
    done = subprocess.run(
        [sys.executable, "-m", "photolog", "decide", "x", "14"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert "'x' is no number of a photo" in " ".join(done.stderr.split())
