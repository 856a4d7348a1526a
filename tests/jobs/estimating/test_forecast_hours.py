"""The command that forecasts from files, on small invented files; what it should say is worked out by the learner."""

import csv
import datetime as dt
import math

import pytest
from django.core.management import CommandError, call_command

from jobs.estimating.calc.bundle import Calibration, bundle_hours
from jobs.estimating.calc.learner import WORKSHOP, Learner, Level, Log
from jobs.estimating.calc.task_hours import TaskHours
from jobs.management.commands.forecast_hours import level

HISTORY = """task_id,shop,project,job,kind,worker,start,end,est_h,act_h
t1,A,p,j,k1,w1,2026-01-05,2026-01-06,2,3
t2,A,p,j,k1,w1,2026-01-07,2026-01-08,4,5
t3,A,p,j,k2,w2,2026-01-07,2026-01-09,1,0.8
"""
ASK = """task_id,shop,project,job,kind,worker,start,est_h
t8,A,p,j,k1,w1,2026-02-03,6
t9,A,p,j,k2,w1,2026-02-03,1.5
"""
PLAIN = ["--sigma0", "0.35", "--half-life", "365", "--levels", "shop:8", "kind:10", "kind+technician:10"]


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "history.csv").write_text(HISTORY)
    (tmp_path / "ask.csv").write_text(ASK)
    (tmp_path / "quotes.csv").write_text("quote_id,type,task_id\nq1,job,t8\nq1,job,t9\n")
    (tmp_path / "past_quotes.csv").write_text(
        "quote_id,type,origin,done,n_tasks,sum_norm,q50,q80,mean,spread,actual_h\n"
        "q0,job,2026-01-01,2026-01-20,2,9,9,11,10,0.25,14\n"
    )
    (tmp_path / "origin.txt").write_text("2026-02-01\n")
    return tmp_path


def out(folder):
    with (folder / "out.csv").open() as file:
        return {row["id"]: row for row in csv.DictReader(file)}


def test_the_figures_are_the_learners_own(folder):
    call_command(
        "forecast_hours", str(folder), *PLAIN, "--tau", "0.2", "--last", "60", "--prior", "20", "--lift", "0.25"
    )
    days = [dt.date(2026, 1, day).toordinal() for day in (6, 8, 9)]
    learner = Learner(
        WORKSHOP,
        [
            Log(1, "k1", "w1", 2, 3, days[0]),
            Log(2, "k1", "w1", 4, 5, days[1]),
            Log(3, "k2", "w2", 1, 0.8, days[2]),
        ],
    )
    found = out(folder)
    tasks = []
    for code, kind, norm in (("t8", "k1", 6), ("t9", "k2", 1.5)):
        forecast = learner.forecast(norm=norm, today=days[0] + 26, marks={"kind": kind, "technician": "w1"})
        tasks.append(TaskHours(norm, forecast.figure(0.5), forecast.figure(0.8)))
        for name, confidence in (("q10", 0.1), ("q50", 0.5), ("q80", 0.8), ("q90", 0.9)):
            assert float(found[code][name]) == pytest.approx(forecast.figure(confidence), rel=1e-4)
    bundle = bundle_hours(tasks, finished=[math.log(14 / 10) / 0.25], calibration=Calibration())
    assert float(found["q1"]["q80"]) == pytest.approx(bundle.figure_80, rel=1e-4)
    assert float(found["q1"]["mean"]) == pytest.approx(bundle.mean, rel=1e-4)


def test_the_constants_that_come_with_it_work_too(folder):
    call_command("forecast_hours", str(folder))
    row = out(folder)["t8"]
    figures = [float(row[name]) for name in ("q10", "q50", "q80", "q90")]
    assert figures == sorted(figures)
    assert figures[0] > 0


def test_the_first_month_knows_no_past(folder):
    (folder / "history.csv").write_text(HISTORY.splitlines()[0] + "\n")
    (folder / "past_quotes.csv").write_text("quote_id,type,origin,done,n_tasks,sum_norm,q50,q80,actual_h\n")
    call_command("forecast_hours", str(folder), *PLAIN)
    assert float(out(folder)["t8"]["q80"]) / 6 == pytest.approx(1.34, abs=0.01)


@pytest.mark.parametrize(
    ("file", "text", "words"),
    [
        ("history.csv", HISTORY.replace(",4,5", ",4,-5"), "history.csv, row 3: “-5” in act_h"),
        ("history.csv", HISTORY.replace("2026-01-09,1", "soon,1"), "row 4: “soon” is no day"),
        ("history.csv", HISTORY.replace("est_h", "norm"), "history.csv lacks the column est_h"),
        ("ask.csv", ASK.replace(",1.5", ","), "ask.csv, row 3: “” in est_h"),
        ("quotes.csv", "quote_id,type,task_id\nq1,job,t77\n", "quote q1 names task t77"),
        ("origin.txt", "yesterday", "origin.txt: “yesterday” is no day"),
    ],
)
def test_a_file_that_cannot_be_read_is_named_and_nothing_is_written(folder, file, text, words):
    (folder / file).write_text(text)
    with pytest.raises(CommandError, match=words):
        call_command("forecast_hours", str(folder))
    assert not (folder / "out.csv").exists()


def test_a_missing_file_is_named(folder):
    (folder / "ask.csv").unlink()
    with pytest.raises(CommandError, match=r"ask\.csv cannot be read"):
        call_command("forecast_hours", str(folder))


@pytest.mark.parametrize(
    "text", ["town:3", "kind:0", "kind", "kind:1:2:3", "kind:many", "job:8:-1", "job:8:0:town", "job:8:0:kind:2"]
)
def test_a_level_that_is_none_is_refused(text):
    with pytest.raises(ValueError):
        level(text)


def test_a_level_names_what_it_shares_and_what_it_is_told_apart_by():
    assert level("shop:8") == Level((), 8.0)
    assert level("kind+technician:7:0.5") == Level(("kind", "technician"), 7.0, 0.5)
    assert level("technician:20:0:kind") == Level(("technician",), 20.0, None, ("kind",))


def test_a_level_apart_from_what_none_before_it_shares_is_refused(folder):
    with pytest.raises(CommandError, match="No level before technician shares kind"):
        call_command("forecast_hours", str(folder), "--levels", "shop:8", "technician:20:0:kind", "kind:10")
    assert not (folder / "out.csv").exists()
