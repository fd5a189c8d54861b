"""What is known knows nothing of what follows from it: kb imports neither rules nor api."""

from __future__ import annotations

import subprocess
import sys

from tests.kb.helpers import ROOT

PROGRAM = """
import importlib, pkgutil, sys
import kb
for module in pkgutil.walk_packages(kb.__path__, "kb."):
    importlib.import_module(module.name)
from kb.catalogue import load
from kb.graph import graph_of
graph_of(load("tests/kb/example"))
print(sorted({name.partition(".")[0] for name in sys.modules} & {"rules", "api", "pysat", "flask"}))
"""


def test_kb_works_without_rules_and_api() -> None:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert done.stdout.strip() == "[]"
