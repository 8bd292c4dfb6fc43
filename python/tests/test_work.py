"""How work is done: watched, stopped, on threads, without leaks."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time

import numpy as np
import pytest

import calotte

from conftest import worked


def test_progress_is_told_and_its_exceptions_stop(cap: calotte.Case) -> None:
    told: list[tuple[float | None, str]] = []
    cap.spread(count=2000, progress=lambda share, words: told.append((share, words)))
    shares = [s for s, _ in told if s is not None]
    assert shares and all(0 <= s <= 1 for s in shares)
    h = np.linspace(1.5e-3, 3e-3, 600)
    shares.clear()
    cap.thresholds({"wall.thickness": h}, progress=lambda share, words: shares.append(share))
    assert shares == sorted(shares) and shares[-1] == 1.0

    class Enough(Exception):
        pass

    def enough(share, words):
        raise Enough

    with pytest.raises(Enough):
        cap.thresholds({"wall.thickness": np.linspace(1.5e-3, 3e-3, 100_000)}, progress=enough)
    with pytest.raises(TypeError, match="callable"):
        cap.spread(progress=3)


def test_a_bar_of_tqdm(cap: calotte.Case, capsys) -> None:
    pytest.importorskip("tqdm")
    cap.thresholds({"wall.thickness": np.linspace(1.5e-3, 3e-3, 300)}, progress=True)
    assert "thresholds: 100%" in capsys.readouterr().err


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
@pytest.mark.parametrize(
    "work",
    [
        "cap.thresholds({'wall.thickness': np.linspace(1.5e-3, 3e-3, 1_000_000)})",
        "calotte.Sweep.of(cap, 'threshold', {'wall.thickness': ('1.5 mm', '3 mm', 100_000)}).run(sys.argv[1])",
        "cap.spread(count=100_000)",
        "calotte.Case.open(sys.argv[2]).release()",
    ],
)
def test_ctrl_c_stops(work: str, tmp_path) -> None:
    slow = worked("poked-back").name
    script = f"""
import signal, sys, numpy as np, calotte
# Where the tests run in the background, interrupts are ignored, and a child inherits that.
signal.signal(signal.SIGINT, signal.default_int_handler)
cap = calotte.Case.new('cap')
print('begun', flush=True)
try:
    # CPython 3.11 looks for the handler of an interrupt met at the jump back to a loop one instruction before the loop: where that is
    # outside of `try`, the interrupt is not caught.
    inside = True
    while inside: {work}
except KeyboardInterrupt:
    print('stopped', flush=True)
"""
    child = subprocess.Popen([sys.executable, "-c", script, str(tmp_path / "s"), slow], stdout=subprocess.PIPE, text=True)
    assert child.stdout.readline() == "begun\n"
    time.sleep(1.0)
    asked = time.monotonic()
    child.send_signal(signal.SIGINT)
    assert child.stdout.readline() == "stopped\n"
    # No wall time is promised; but what cannot be stopped takes longer than this.
    assert time.monotonic() - asked < 10
    child.wait()


def test_a_stopped_sweep_goes_on(sweep: calotte.Sweep, tmp_path) -> None:
    out = tmp_path / "s"

    class Enough(Exception):
        pass

    def after_some(share, words):
        if share > 0.3:
            raise Enough

    many = calotte.Sweep.of(calotte.Case.new("cap"), "threshold", {"wall.thickness": ("1.5 mm", "3 mm", 3000)}, chunk=100)
    with pytest.raises(Enough):
        many.run(out, threads=1, progress=after_some)
    kept = {f.name: f.stat().st_mtime_ns for f in out.glob("chunk-*.parquet")}
    assert 0 < len(kept) < 30
    done = many.run(out)
    assert done.complete and all((out / n).stat().st_mtime_ns == t for n, t in kept.items()), "what was whole is not computed again"


def test_the_lock_is_released(cap: calotte.Case) -> None:
    beats = 0
    done = threading.Event()

    def beat() -> None:
        nonlocal beats
        while not done.is_set():
            beats += 1
            time.sleep(0.001)

    other = threading.Thread(target=beat)
    other.start()
    cap.thresholds({"wall.thickness": np.linspace(1.5e-3, 3e-3, 2000)}, threads=1)
    done.set()
    other.join()
    assert beats > 20


def test_threads_may_ask_at_once(cap: calotte.Case) -> None:
    want = cap.verdict().json
    got: list[str] = []
    team = [threading.Thread(target=lambda: got.append(cap.verdict().json)) for _ in range(8)]
    for t in team:
        t.start()
    for t in team:
        t.join()
    assert got == [want] * 8


def test_processes_take_cases(cap: calotte.Case) -> None:
    import multiprocessing

    with multiprocessing.get_context("spawn").Pool(1) as pool:
        assert pool.apply(_ratio, (cap,)) == cap.verdict().report.margin.thickness_ratio


def _ratio(case: calotte.Case) -> float:
    return case.verdict().report.margin.thickness_ratio


def _resident() -> int:
    with open("/proc/self/statm") as f:
        return int(f.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")


@pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="resident memory is read from /proc")
def test_ten_thousand_calls_do_not_grow(cap: calotte.Case) -> None:
    text = cap.text

    def one(k: int) -> None:
        cap.readings("mass", {"wall.thickness": [1.5e-3 + 1e-7 * k]})
        case = calotte.Case.from_toml(text)
        answer = case.look()
        assert answer.report.title and answer.provenance
        with pytest.raises(calotte.QuestionError):
            case.changed({"wall.thicknes": 1.0})
        if k % 20 == 0:
            case.readings("mass")
            case.thresholds({"wall.thickness": [1e-3, 2e-3]})
        if k % 200 == 0:
            _ = case.verdict().figures["shape"].svg

    for k in range(1000):
        one(k)
    before = _resident()
    for k in range(10_000):
        one(k)
    # Common practice, no source: a leak of one small report a call would be some 100 MB, of one number a call 0.2 MB would be missed.
    assert _resident() - before < 12e6


def test_commands_that_make_files(cap: calotte.Case, tmp_path) -> None:
    assert calotte.run("shelf", tells_json=False).text.startswith("Generic materials")
    exported = calotte.export(cap, "verdict", tmp_path / "export", around=16)
    assert any(f.suffix == ".stl" for f in exported.files) and exported.data is not None
    made = calotte.make(cap, tmp_path / "make", what="drawing")
    assert any(f.suffix == ".dxf" for f in made.files)
    filmed = calotte.film(cap, "turning", tmp_path / "film", formats="gif", size="320x240", seconds=1)
    assert any(f.suffix == ".gif" for f in filmed.files)
    sheet = calotte.report(cap, tmp_path / "sheet", sheet=True)
    assert any(f.suffix == ".html" for f in sheet.files)
    picture = calotte.rehearse("side", cap, tmp_path / "side.png")
    seen = calotte.side(picture.files[0], scale="15 px/mm", case=cap)
    assert seen["shape"] == "sphere" and not seen.doubtful
    from conftest import ROOT

    assert calotte.memory(ROOT / "cases" / "relaxation.csv", accuracy="0.3%")["terms"]
    assert calotte.bench(ROOT / "cases" / "bench-tests" / "bench.toml").data is not None


def test_the_program_is_there_as_a_module() -> None:
    ran = subprocess.run([sys.executable, "-m", "calotte", "--version"], capture_output=True, text=True)
    assert ran.returncode == 0 and ran.stdout.strip() == f"calotte {calotte.__version__}"
