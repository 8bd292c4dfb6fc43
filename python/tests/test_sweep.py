"""Sweeps: the files of one machine and of a cluster that loses a worker are the same bytes; other libraries read them."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import time
from pathlib import Path

import numpy as np
import pytest

import calotte

from conftest import PLAN, ROOT, Running


def bytes_of(folder: Path) -> dict[str, str]:
    return {f.name: hashlib.sha256(f.read_bytes()).hexdigest() for f in sorted(folder.glob("*.parquet"))}


def test_files_are_those_of_the_program(tmp_path) -> None:
    plan = ROOT / "cases" / "silicone-cap-stays" / "sweep.toml"
    beside = Running("sweep", str(plan), f"--out={tmp_path / 'theirs'}", "--json")
    mine = calotte.Sweep.open(plan).run(tmp_path / "mine", threads=1)
    theirs = beside.json()
    assert bytes_of(tmp_path / "mine") == bytes_of(tmp_path / "theirs")
    assert (mine.points, mine.counts) == (theirs["computed_points"], theirs["counts"])
    manifests = [json.loads((tmp_path / n / "_sweep" / "manifest.json").read_text()) for n in ("mine", "theirs")]
    assert manifests[0] == manifests[1] and manifests[0]["complete"]


def test_other_libraries_read_the_folder(sweep: calotte.Sweep, tmp_path) -> None:
    import duckdb
    import pandas as pd
    import polars as pl

    out = tmp_path / "s"
    done = sweep.run(out)
    rows = [sweep.row(k) for k in range(sweep.points)]
    ratio = np.array([r["thickness_ratio"] for r in rows])
    for column in (
        done.to_pandas()["thickness_ratio"],
        pd.read_parquet(out)["thickness_ratio"],
        done.to_polars()["thickness_ratio"],
        pl.read_parquet(out / "*.parquet")["thickness_ratio"],
        duckdb.sql(f"select thickness_ratio from '{out}/*.parquet' order by point").fetchnumpy()["thickness_ratio"],
        done.duckdb().order("point").fetchnumpy()["thickness_ratio"],
    ):
        assert np.array_equal(np.asarray(column), ratio)
    assert duckdb.sql(f"select count(*) from '{out}/*.parquet' where thickness_ratio < 1").fetchall()[0][0] == (ratio < 1).sum()
    assert list(done.to_pandas(["point", "note"]).columns) == ["point", "note"]
    assert list(sweep.columns)[:3] == ["point", "wall.thickness_m", "shape.half_angle_rad"]


def test_every_design_and_several_questions(cap: calotte.Case, tmp_path) -> None:
    ends = {k: v[:2] for k, v in PLAN.items()}
    for design in ("latin hypercube", "sobol"):
        sweep = calotte.Sweep.of(cap, ["threshold", "verdict"], ends, design=design, points=6, seed=3, chunk=4)
        frame = sweep.run(tmp_path / design).to_pandas()
        assert frame["verdict_verdict"].isin(["stays", "returns"]).all()
        assert np.allclose(frame["verdict_thickness_ratio"], frame["threshold_thickness_ratio"], rtol=1e-6, atol=0)
    one = calotte.Sweep.of(cap, "threshold", {"wall.thickness": ["2.1 mm", "2.2 mm"]}, design="table").run(tmp_path / "t").to_pandas()
    assert one["wall.thickness_m"].tolist() == [2.1e-3, 2.2e-3]


def test_a_dask_cluster_that_loses_a_worker(cap: calotte.Case, tmp_path) -> None:
    from distributed import Client, LocalCluster

    many = calotte.Sweep.of(cap, "threshold", {"wall.thickness": ("1.5 mm", "3 mm", 6000)}, chunk=100)
    alone = tmp_path / "alone"
    many.run(alone)
    out = tmp_path / "cluster"
    killed: list[int] = []
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster, Client(cluster) as client:
        pids = list(client.run(os.getpid).values())

        def kill_one(share: float | None, words: str) -> None:
            if not killed and share is not None and share > 0.1:
                killed.append(pids[0])
                os.kill(pids[0], signal.SIGKILL)

        done = many.run(out, client=client, progress=kill_one)
        assert killed, "a worker was killed amid the work"
        assert done.complete and done.points == 6000
        for _ in range(100):
            if set(client.run(os.getpid).values()) - set(pids):
                break
            time.sleep(0.1)
        assert set(client.run(os.getpid).values()) != set(pids), "the killed one was replaced"
    assert bytes_of(out) == bytes_of(alone)


def test_sweeps_travel(sweep: calotte.Sweep) -> None:
    import pickle

    again = pickle.loads(pickle.dumps(sweep))
    assert again.digest == sweep.digest and again.row(7) == sweep.row(7)
    with pytest.raises(calotte.QuestionError, match="no chunk 5"):
        sweep._core.run("nowhere", [5], 1, None)
