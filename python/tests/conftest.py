"""What the tests share: worked cases, the program, a small quick case."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

import calotte

ROOT = Path(__file__).resolve().parents[2]
CASES = sorted(p.parent.name for p in (ROOT / "cases").glob("*/case.toml"))


def worked(name: str) -> calotte.Case:
    return calotte.Case.open(ROOT / "cases" / name / "case.toml")


class Running:
    """The program at work beside the test."""

    def __init__(self, *arguments: str) -> None:
        self.child = subprocess.Popen(
            [calotte.program(), *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8", cwd=ROOT
        )

    def printed(self) -> str:
        out, err = self.child.communicate()
        assert self.child.returncode in (0, 1), err
        return out

    def refused(self) -> str:
        out, err = self.child.communicate()
        assert self.child.returncode == 2 and not out, out
        return err.strip()

    def json(self) -> Any:
        return json.loads(self.printed())


@pytest.fixture
def cap() -> calotte.Case:
    return calotte.Case.new("cap")


PLAN = {"wall.thickness": ("1.5 mm", "3 mm", 6), "shape.half_angle": ("55 deg", "65 deg", 4)}


@pytest.fixture
def sweep(cap: calotte.Case) -> calotte.Sweep:
    return calotte.Sweep.of(cap, "threshold", PLAN, chunk=5)
