"""The answers are those of the program: letter for letter, over all worked cases."""

from __future__ import annotations

import json

import numpy as np
import pytest

import calotte

from conftest import CASES, ROOT, Running, worked

QUESTIONS = ("verdict", "states", "poke", "heat", "modes", "release")


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("name", CASES)
def test_every_question_that_makes_sense(name: str, question: str) -> None:
    case = worked(name)
    why_not = case.questions[question]
    if why_not is not None:
        with pytest.raises(calotte.QuestionError) as raised:
            case.ask(question)
        assert str(raised.value).startswith(why_not.split("; ")[0])
        return
    command = "verdict" if question == "states" else question
    beside = Running(command, f"cases/{name}/case.toml", "--json")
    try:
        answer = getattr(case, question)()
    except calotte.QuestionError as refused:
        # A part that cannot follow the hold: found out on the way, told in the same words.
        assert beside.refused() == str(refused)
        return
    assert answer.json + "\n" == beside.printed()
    # The record tells all that the JSON tells, and nothing else.
    assert {"provenance": answer.provenance, **answer.report.to_dict()} == json.loads(answer.json)


def test_every_question_is_asked_of_some_case() -> None:
    asked = {q for name in CASES for q, why_not in worked(name).questions.items() if why_not is None}
    assert asked == set(calotte.QUESTIONS)


def test_words_are_those_kept_beside_the_cases() -> None:
    for name in ("silicone-cap-stays", "silicone-cap-thicker", "camp-bowl"):
        case = worked(name)
        answer = case.verdict(branch=False) if case.questions["verdict"] is None else case.states()
        assert answer.text + "\n" == (ROOT / "cases" / name / "answer.txt").read_text()


def test_options_are_those_of_the_program() -> None:
    def same(answer: calotte.Answer, *arguments: str) -> None:
        assert answer.json + "\n" == Running(*arguments, "--json").printed()

    case = "cases/silicone-cap-stays/case.toml"
    cap = worked("silicone-cap-stays")
    x, y = "depth=50deg..65deg", "wall.thickness=2mm..3mm"
    same(cap.map(x, y, margin=np.array([0.9])), "map", case, f"--x={x}", f"--y={y}", "--margin=0.9")
    same(cap.spread(count=500, seed=7), "spread", case, "--count=500", "--seed=7")
    same(cap.modes(inverted=True, lowest=4, pressure="outside"), "modes", case, "--inverted", "--lowest=4", "--pressure=outside")
    wish, vary = "margin = 0.05", "wall.thickness=1mm..4mm"
    same(cap.size(vary=vary, wish=wish), "size", case, f"--vary={vary}", f"--wish={wish}")
    cutout = worked("propagator-cutout")
    same(cutout.heat(spread=20, threads=1), "heat", "cases/propagator-cutout/case.toml", "--spread=20")


def test_written_tables_are_those_of_the_program(tmp_path) -> None:
    Running("poke", "cases/key-dome/case.toml", f"--out={tmp_path}").printed()
    answer = worked("key-dome").poke()
    assert list(answer.tables) == ["path"]
    assert answer.to_parquet(tmp_path / "mine.parquet", "path").read_bytes() == (tmp_path / "path.parquet").read_bytes()
    assert answer.tables["path"].to_csv(tmp_path / "mine.csv").read_bytes() == (tmp_path / "path.csv").read_bytes()
    for name, figure in answer.figures.items():
        assert figure.svg == (tmp_path / f"{name}.svg").read_text()
        for ending in ("svg", "png", "pdf", "csv"):
            theirs = tmp_path / (f"{name}.figure.csv" if ending == "csv" else f"{name}.{ending}")
            assert figure.save(tmp_path / f"mine.{ending}").read_bytes() == theirs.read_bytes(), f"{name}.{ending}"


def test_cases_from_keywords_texts_and_files_are_one() -> None:
    path = ROOT / "cases" / "silicone-cap-stays" / "case.toml"
    from_file = calotte.Case.open(path)
    assert calotte.Case.from_toml(path.read_text()).digest == from_file.digest
    keywords = calotte.Case(
        title=from_file.title,
        shape={"kind": "cap", "surface": "outer", "radius": "26.0 ± 0.1 mm", "half_angle": "60 ± 0.7 deg"},
        wall={"thickness": "2.40 ± 0.05 mm"},
        material={"name": "silicone-30"},
        rim={"kind": "free"},
    )
    mine, theirs = (json.loads(c.verdict().json) for c in (keywords, from_file))
    # The digest is of the bytes of the file, comments and order too; all else is the same.
    assert mine["provenance"].pop("case_digest") != theirs["provenance"].pop("case_digest") and mine == theirs
    thinner = keywords.changed({"wall.thickness": "2.2 mm"})
    assert thinner.numbers["wall.thickness"] == 2.2e-3
    assert thinner.digest == keywords.changed(wall__thickness=2.2e-3).digest != keywords.digest


def test_thresholds_are_those_of_sweeps_and_of_verdicts(cap: calotte.Case) -> None:
    h = np.linspace(1.5e-3, 3e-3, 7).reshape(7, 1)
    depth = np.radians([55.0, 60.0])
    found = cap.thresholds({"wall.thickness": np.broadcast_to(h, (7, 2)), "shape.half_angle": np.broadcast_to(depth, (7, 2))})
    assert found.thickness_ratio.shape == (7, 2) and found.certified.all() and not found.notes
    for i, j in ((0, 0), (3, 1), (6, 0)):
        one = cap.changed({"wall.thickness": float(h[i, 0]), "shape.half_angle": float(depth[j])}).verdict().report
        # Followed on the standard mesh against found on two: the margin differs by the mesh alone.
        assert found.thickness_ratio[i, j] == pytest.approx(one.margin.thickness_ratio, rel=1e-6)
        assert found.stays[i, j] == (one.verdict == "stays")
    table = {"wall.thickness": np.broadcast_to(h, (7, 2)).ravel(), "shape.half_angle": np.broadcast_to(depth, (7, 2)).ravel()}
    plan = calotte.Sweep.of(cap, "threshold", table, design="table")
    for k in range(14):
        row = plan.row(k)
        assert row["thickness_ratio"] == found.thickness_ratio.flat[k]
        assert row["threshold_thickness_m"] == found.threshold_thickness_m.flat[k]
    assert (cap.thresholds(table, threads=1).thickness_ratio == found.thickness_ratio.ravel()).all(), "threads change nothing"


def test_units_are_read_as_in_case_files(cap: calotte.Case) -> None:
    h = np.array([1.7, 2.3, 2.9])
    a = cap.thresholds({"wall.thickness": (h, "mm")}).thickness_ratio
    b = cap.thresholds({"wall.thickness": [float(f"{x}e-3") for x in h]}).thickness_ratio
    assert (a == b).all()
    turned = cap.thresholds({"depth": ([58.0, 62.0], "deg")})
    other = cap.thresholds({"shape.half_angle": ([58.0, 62.0], "°")})
    assert (turned.thickness_ratio == other.thickness_ratio).all()


def test_readings_are_those_of_single_answers() -> None:
    cutout = worked("propagator-cutout")
    rise = cutout.numbers["shape.rise"] * np.array([0.97, 1.0, 1.03])
    found = cutout.readings(["trip_temperature", "reset_temperature", "mass"], {"shape.rise": rise})
    assert found.units == {"trip_temperature": "K", "reset_temperature": "K", "mass": "kg"}
    for k, z in enumerate(rise):
        report = cutout.changed({"shape.rise": float(z)}).heat().report
        # Followed on one mesh against found on two; in kelvin.
        assert found["trip_temperature"][k] == pytest.approx(report.trip.temperature_K, rel=0, abs=1e-5)
        assert found["reset_temperature"][k] == pytest.approx(report.reset.temperature_K, rel=0, abs=1e-5)
    key = worked("key-dome")
    load = key.readings("trip_load")
    assert load["trip_load"].shape == () and load.units["trip_load"] == "N"
    assert load["trip_load"] == pytest.approx(key.poke().report.by_load.load_SI, rel=1e-9)


def test_numbers_are_arrays_and_frames(cap: calotte.Case) -> None:
    pytest.importorskip("pandas")
    pytest.importorskip("polars")
    answer = cap.verdict()
    meridian = answer.report.part.meridian
    assert isinstance(meridian.s_m, np.ndarray) and meridian.s_m.dtype == np.float64
    assert meridian.s_m.tolist() == json.loads(answer.json)["part"]["meridian"]["s_m"]
    frame = answer.to_pandas()
    assert frame.loc[0, "margin.thickness_ratio"] == answer.margin.thickness_ratio
    assert answer.to_polars()["verdict"][0] == "stays"
    path = worked("key-dome").poke().tables["path"]
    pandas, polars = path.to_pandas(), path.to_polars()
    assert len(pandas) == len(polars) == len(path) and list(pandas.columns) == polars.columns == list(path.columns)
    for column in path.columns:
        mine = path[column]
        if isinstance(mine, np.ndarray):
            assert np.array_equal(pandas[column].to_numpy(dtype=float), mine.astype(float), equal_nan=True)
            assert np.array_equal(polars[column].fill_null(np.nan).to_numpy().astype(float), mine.astype(float), equal_nan=True)
