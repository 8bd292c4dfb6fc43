"""Bad input: a clear error at its place, and other work kept."""

from __future__ import annotations

import os
import pickle
import shutil
import subprocess
import sys

import numpy as np
import pytest

import calotte

from conftest import PLAN


def test_a_case_tells_every_fault_at_its_place() -> None:
    text = 'title = "T"\n[shape]\nkind = "cap"\nradius = "25 mn"\nhalf_angle = "60 deg"\n[wall]\nthickness = "2 kg"\n[rim]\nkind = "free"\n'
    with pytest.raises(calotte.CaseError) as raised:
        calotte.Case.from_toml(text)
    found = raised.value.findings
    assert [(f.level, f.line) for f in found if f.line in (4, 7)] == [("error", 4), ("error", 7)]
    assert found[[f.line for f in found].index(4)].text == 'radius = "25 mn"'
    assert "25 mn" in str(raised.value) and "help: " in str(raised.value)
    assert isinstance(pickle.loads(pickle.dumps(raised.value)), calotte.CaseError)


def test_wrong_units_and_numbers_in_keywords() -> None:
    good = dict(title="T", shape={"kind": "cap", "radius": "25 mm", "half_angle": "60 deg"}, rim={"kind": "free"})
    material = {"name": "silicone-30"}
    assert calotte.Case(**good, wall={"thickness": "2 mm"}, material=material).numbers["wall.thickness"] == 2e-3
    for wrong in ("2 s", "2", 2.0, float("nan"), -1, "-2 mm", [1, 2], {"a": 1}, True):
        with pytest.raises(calotte.CaseError) as raised:
            calotte.Case(**good, wall={"thickness": wrong}, material=material)
        assert any("thickness" in f.text for f in raised.value.findings), wrong
    with pytest.raises(TypeError, match="not object"):
        calotte.Case(**good, wall={"thickness": object()})
    with pytest.raises(calotte.CaseError, match="wal"):
        calotte.Case(**good, wal={"thickness": "2 mm"}, material=material)


def test_a_case_that_cannot_be_opened(tmp_path) -> None:
    with pytest.raises(FileNotFoundError):
        calotte.Case.open(tmp_path / "no.toml")
    (tmp_path / "junk.toml").write_bytes(b"\xff\xfe\x00" * 9)
    with pytest.raises(calotte.CaseError):
        calotte.Case.open(tmp_path / "junk.toml")
    text = '[shape]\nkind = "meridian"\nfile = "points.csv"\n[wall]\nthickness = "1 mm"\n[rim]\nkind = "free"\n[material]\nname = "silicone-30"\n'
    with pytest.raises(calotte.CaseError, match=r"points\.csv"):
        calotte.Case.from_toml(text)


@pytest.mark.parametrize(
    ("vary", "says"),
    [
        ({"wall.thicknes": 1e-3}, "did you mean `wall.thickness`"),
        ({"wall.thickness": [1e-3, float("nan")]}, "value 1 is NaN"),
        ({"wall.thickness": [1e-3, float("inf")]}, "value 1 is inf"),
        ({"wall.thickness": ["a", "b"]}, "numbers are wanted"),
        ({"wall.thickness": ([1.0], "deg")}, "`deg` is no unit of that"),
        ({"wall.thickness": ([1.0], "furlong")}, "no unit"),
        ({"material.poisson_ratio": ([0.4], "mm")}, "pure number"),
        ({"wall.thickness": [1e-3, 2e-3], "shape.radius": [0.02]}, "differ in shape"),
        ({"rim.kind": [1.0]}, "is no number, so it cannot vary"),
    ],
)
def test_arrays(cap: calotte.Case, vary, says: str) -> None:
    with pytest.raises(calotte.QuestionError) as raised:
        cap.thresholds(vary)
    assert says in str(raised.value)
    with pytest.raises(ValueError):
        cap.readings("margin", vary)


def test_points_without_an_answer_lose_no_other(cap: calotte.Case) -> None:
    found = cap.thresholds({"wall.thickness": [2e-3, -1e-3, 2.5e-3]})
    assert np.isnan(found.thickness_ratio[1]) and list(found.notes) == [1] and not found.certified[1]
    assert np.isfinite(found.thickness_ratio[[0, 2]]).all()
    read = cap.readings(["margin", "mass"], {"wall.thickness": [2e-3, -1e-3]})
    assert np.isnan(read["margin"][1]) and np.isnan(read["mass"][1]) and read.waves["margin"].tolist() == [0, -1]
    assert "no part" in read.notes[1]
    assert cap.thresholds({"wall.thickness": []}).thickness_ratio.shape == (0,)


def test_questions_and_options(cap: calotte.Case) -> None:
    with pytest.raises(calotte.QuestionError, match="did you mean `verdict`"):
        cap.ask("verdikt")
    with pytest.raises(calotte.QuestionError, match="has no option `dept`"):
        cap.ask("verdict", {"dept": True})
    with pytest.raises(calotte.QuestionError, match="layers"):
        cap.heat()
    with pytest.raises(calotte.QuestionError, match="not finite"):
        cap.map(margin=[float("nan")])
    with pytest.raises(calotte.QuestionError, match="no gauge `margn`"):
        cap.readings("margn")
    with pytest.raises(calotte.QuestionError, match="no gauge is asked"):
        cap.readings([])
    with pytest.raises(calotte.QuestionError, match="trip temperature"):
        cap.readings("trip_temperature")
    with pytest.raises(calotte.QuestionError, match="no kind of part `plate`"):
        calotte.Case.new("plate")
    answer = cap.verdict()
    with pytest.raises(calotte.QuestionError, match="no figure `shap`"):
        answer.figures["shap"]
    with pytest.raises(calotte.QuestionError, match="no table `path`"):
        answer.to_pandas("path")
    with pytest.raises(AttributeError, match="has no `verdikt`"):
        _ = answer.verdikt
    with pytest.raises(AttributeError, match="not changed"):
        answer.report.margin.thickness_ratio = 1.0


def test_changed_numbers(cap: calotte.Case) -> None:
    for numbers, says in [
        ({"wall.thickness": "2 s"}, "2 s"),
        ({"wall.thicknes": 1.0}, "did you mean"),
        ({"wall.thickness": float("nan")}, "finite"),
    ]:
        with pytest.raises(calotte.QuestionError, match=says):
            cap.changed(numbers)
    with pytest.raises((calotte.CaseError, calotte.QuestionError)):
        cap.changed({"wall.thickness": -1e-3})


def test_plans(cap: calotte.Case) -> None:
    with pytest.raises(calotte.PlanError) as raised:
        calotte.Sweep.of(cap, "threshold", {"rim.kind": ("1 mm", "2 mm", 3)})
    assert "no number, so it cannot vary" in str(raised.value)
    with pytest.raises(calotte.PlanError, match="1 s"):
        calotte.Sweep.of(cap, "threshold", {"wall.thickness": ("1 s", "2 mm", 3)})
    with pytest.raises(calotte.PlanError, match="thershold"):
        calotte.Sweep.of(cap, "thershold", PLAN)
    with pytest.raises(calotte.PlanError):
        calotte.Sweep('case = "case.toml"', beside={"case.toml": b"[shape"})
    with pytest.raises(calotte.QuestionError, match="differ in length"):
        calotte.Sweep.of(cap, "threshold", {"wall.thickness": [1e-3, 2e-3], "shape.radius": [1e-2]}, design="table")
    with pytest.raises(calotte.QuestionError, match="a pair of ends"):
        calotte.Sweep.of(cap, "threshold", {"wall.thickness": [1e-3, 2e-3]})
    with pytest.raises(calotte.QuestionError, match="points are 0 to 23"):
        calotte.Sweep.of(cap, "threshold", PLAN).row(24)


def test_corrupt_and_foreign_shards(cap: calotte.Case, sweep: calotte.Sweep, tmp_path) -> None:
    done = sweep.run(tmp_path / "a")
    assert done.complete and done.points == 24
    whole = {f.name: f.read_bytes() for f in done.files}
    spoilt = done.files[2]
    spoilt.write_bytes(spoilt.read_bytes()[:-9] + b"\0" * 9)
    again = sweep.gather(tmp_path / "a")
    assert again.missing == [2] and again.damaged[0]["chunk"] == 2 and os.path.exists(again.damaged[0]["set_aside"])
    assert sweep.run(tmp_path / "a").complete
    assert {f.name: f.read_bytes() for f in done.files} == whole, "the lost one is computed again, bit for bit"
    other = calotte.Sweep.of(cap, "threshold", {**PLAN, "wall.thickness": ("1.6 mm", "3 mm", 6)}, chunk=5)
    with pytest.raises(calotte.FolderError, match="another plan"):
        other.run(tmp_path / "a")
    theirs = other.run(tmp_path / "b")
    shutil.copy(theirs.files[0], spoilt)
    with pytest.raises(calotte.FolderError, match="belongs to another sweep"):
        sweep.gather(tmp_path / "a")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full disk to write to")
def test_a_full_disk(cap: calotte.Case, tmp_path) -> None:
    (tmp_path / "full.svg").symlink_to("/dev/full")
    figure = cap.verdict().figures["shape"]
    with pytest.raises(OSError):
        figure.save(tmp_path / "full.svg")
    assert figure.save(tmp_path / "fits.svg").read_text() == figure.svg


@pytest.mark.skipif(os.name == "nt", reason="limits of POSIX")
def test_a_full_disk_keeps_finished_chunks(sweep: calotte.Sweep, tmp_path) -> None:
    sweep.run(tmp_path, chunks=[0])
    kept = {f.name: f.read_bytes() for f in tmp_path.glob("*.parquet")}
    # Files are held to few bytes, as a full disk would; in a process of its own, for the limit cannot be lifted.
    script = """
import pickle, resource, sys, calotte
sweep = pickle.load(open(sys.argv[2], "rb"))
resource.setrlimit(resource.RLIMIT_FSIZE, (1024, 1024))
try:
    sweep.run(sys.argv[1])
except calotte.FolderError as e:
    print(e)
"""
    (tmp_path / "sweep.pickle").write_bytes(pickle.dumps(sweep))
    ran = subprocess.run([sys.executable, "-c", script, tmp_path, tmp_path / "sweep.pickle"], capture_output=True, text=True)
    assert "_sweep/tmp/chunk-00000" in ran.stdout and "finished chunks are kept" in ran.stdout, ran
    assert {f.name: f.read_bytes() for f in tmp_path.glob("*.parquet")} == kept
    assert sweep.run(tmp_path).complete


def test_a_disk_that_refuses_keeps_finished_chunks(sweep: calotte.Sweep, tmp_path) -> None:
    out = tmp_path / "a"
    sweep.run(out, chunks=[0, 1])
    # Where the shards are written first there stands a file: no folder can be made.
    beside = out / "_sweep" / "tmp"
    shutil.rmtree(beside, ignore_errors=True)
    beside.write_text("in the way")
    with pytest.raises(calotte.FolderError, match="finished chunks are kept"):
        sweep.run(out)
    beside.unlink()
    assert sweep.missing(out) == [2, 3, 4]
    assert sweep.run(out).complete


def test_the_program_refuses_in_its_words(cap: calotte.Case, tmp_path) -> None:
    with pytest.raises(calotte.ProgramError) as raised:
        calotte.export(cap, "heat", tmp_path / "x")
    assert raised.value.code == 2 and "layers" in str(raised.value)
