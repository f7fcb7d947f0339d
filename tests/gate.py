"""The whole gate, in one command: format, lint, types, import direction, tests.

``python tests/gate.py`` runs it all; arguments go to pytest.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TOOLS = Path(sys.executable).parent
STEPS = (
    ("format", [sys.executable, "-m", "ruff", "format", "--check", "--quiet", "."]),
    ("lint", [sys.executable, "-m", "ruff", "check", "--quiet", "."]),
    ("types", [sys.executable, "-m", "mypy"]),
    ("imports", [str(TOOLS / "lint-imports"), "--no-logo"]),
)


def main(arguments: list[str]) -> int:
    """Run every step, also after one has failed; returns 1 if any did."""
    failed = []
    environment = {"OPENBLAS_NUM_THREADS": "1", **os.environ}  # a worker has a core
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    tests = [sys.executable, "-m", "pytest", "-n", "auto", *arguments]
    with tempfile.TemporaryDirectory() as compiled:  # beside the tree, and once for the hundreds of calls in the tests
        environment["PYTHONPYCACHEPREFIX"] = compiled
        for name, command in (*STEPS, ("tests", tests)):
            print(f"== {name}", flush=True)
            if subprocess.run(command, cwd=ROOT, env=environment, check=False).returncode:
                failed.append(name)
    print(f"gate: {'failed: ' + ', '.join(failed) if failed else 'passed'}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
