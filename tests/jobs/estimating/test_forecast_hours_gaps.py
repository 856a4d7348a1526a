"""Folders with gaps: what says nothing is left out and told of, and the rest is forecast as if it had never been."""

import csv

import pytest
from django.core.management import CommandError, call_command

HEAD = "task_id,shop,project,job,kind,worker,start,end,est_h,act_h\n"
HISTORY = HEAD + "".join(
    f"t{i},A,p,j{i % 3},k{i % 2},w{i % 3},2026-01-05,2026-01-{10 + i},2,{2 + 0.3 * i:g}\n" for i in range(9)
)
ASK = (
    "task_id,shop,project,job,kind,worker,start,est_h\n"
    "t20,A,p,j1,k1,w1,2026-02-03,6\nt21,A,p,j9,k0,w1,2026-02-03,1.5\nt22,A,p,j9,k0,w1,2026-02-03,1.5\n"
)
PAST_HEAD = "quote_id,type,origin,done,n_tasks,sum_norm,q50,q80,mean,spread,actual_h\n"
PAST = [f"q{i},job,2026-01-01,2026-01-{11 + i},2,9,9,11,10,0.25,{8 + i}\n" for i in range(6)]


@pytest.fixture
def said(tmp_path):
    """Write a folder, with other texts for some files (None: no such file), and return what the command says of it."""

    def folder(*options, **texts):
        whole = {
            "history": HISTORY,
            "ask": ASK,
            "quotes": "quote_id,type,task_id\nq9,job,t20\nq9,job,t21\n",
            "past_quotes": PAST_HEAD + "".join(PAST),
        }
        for name, text in (whole | texts).items():
            file = tmp_path / f"{name}.csv"
            file.unlink(missing_ok=True)
            if text is not None:
                file.write_text(text, encoding="utf-8")
        (tmp_path / "origin.txt").write_text("2026-02-01\n")
        call_command("forecast_hours", str(tmp_path), *options)
        with (tmp_path / "out.csv").open() as file:
            return {row["id"]: [row[name] for name in ("q10", "q50", "q80", "q90")] for row in csv.DictReader(file)}

    return folder


@pytest.mark.parametrize("quotes", [None, "", "quote_id,type,task_id\n"])
def test_a_month_without_quotes_still_has_tasks(said, quotes):
    assert set(said(quotes=quotes)) == {"t20", "t21", "t22"}


@pytest.mark.parametrize("past", [None, "", PAST_HEAD, "quote_id,type,actual_h\nq1,job,12\n"])
def test_without_past_quotes_the_figures_are_the_learners_alone(said, past):
    assert said(past_quotes=past) == said(past_quotes=PAST_HEAD)


@pytest.mark.parametrize("history", ["", HEAD])
def test_an_empty_history_gives_what_the_norm_says(said, history):
    found = said("--sigma0", "0.35", history=history)
    assert float(found["t20"][1]) == pytest.approx(6)
    assert float(found["t20"][2]) / 6 == pytest.approx(1.34, abs=0.01)


def test_a_history_of_one_task_moves_the_figures_a_little(said):
    none = said(history=HEAD)["t20"]
    one = said(history=HEAD + "t1,A,p,j1,k1,w1,2026-01-05,2026-01-20,2,3\n")["t20"]
    assert 1 < float(one[1]) / float(none[1]) < 1.5


@pytest.mark.parametrize("cells", ["2,", "2,0", "2,0.00", ",3", "0,3", "2", "2, "])
def test_a_task_without_hours_or_norm_is_left_out_and_told(said, capsys, cells):
    plain = said()
    assert not capsys.readouterr().err
    assert said(history=HISTORY + f"t30,A,p,j1,k1,w1,2026-01-05,2026-01-20,{cells}\n") == plain
    assert "Left out one row, history.csv, row 11: a cell that is needed is blank" in capsys.readouterr().err


@pytest.mark.parametrize("cells", ["2,-1", "2,many", "2,nan", "-2,3", "2,1e999"])
def test_hours_that_cannot_be_are_refused(said, cells):
    with pytest.raises(CommandError, match=r"history\.csv, row 11: .* is no number of hours above nought"):
        said(history=HISTORY + f"t30,A,p,j1,k1,w1,2026-01-05,2026-01-20,{cells}\n")


def test_a_row_that_breaks_off_is_named(said):
    with pytest.raises(CommandError, match=r"history\.csv, row 11: “” is no day"):
        said(history=HEAD.replace("end,est_h,act_h", "est_h,act_h,end") + 9 * "t,A,p,j,k,w,2026-01-05,2,3,2026-01-09\n"
             + "t30,A,p,j1,k1,w1,2026-01-05,2,3\n")  # fmt: skip


def test_past_quotes_with_blank_cells_are_left_out_and_told(said, capsys):
    blank = [
        "q7,job,2026-01-01,2026-01-30,2,9,9,11,,,14\n",
        "q8,job,2026-01-01,2026-01-30,2,9,9,11,10,0.25,\n",
    ]
    assert said(past_quotes=PAST_HEAD + "".join(PAST + blank)) == said()
    assert "Left out 2 rows, the first past_quotes.csv, row 8" in capsys.readouterr().err


def test_past_quotes_in_any_order_count_by_the_day_they_were_done(said):
    last = ("--last", "2", "--prior", "1")
    assert said(*last, past_quotes=PAST_HEAD + "".join(reversed(PAST)))["q9"] == said(*last)["q9"]
    assert said(*last, past_quotes=PAST_HEAD + "".join(PAST[:2]))["q9"] != said(*last)["q9"]


def test_a_kind_never_seen_gets_the_shops_figures(said):
    figures = said("--levels", "shop:8", "kind:10", ask=ASK.replace(",k1,", ",k77,"))
    assert figures["t20"] == said("--levels", "shop:8", ask=ASK)["t20"]


@pytest.mark.parametrize("mark", ["worker", "job"])
def test_tasks_with_a_blank_cell_share_nothing_by_it(said, mark):
    """Two that nobody is named for are not by the same person, and a task of no job is not in a job with others."""
    lines = [line.split(",") for line in HISTORY.splitlines()]
    place = lines[0].index(mark)
    for number, line in enumerate(lines[1:]):
        line[place] = "" if number < 5 else line[place]
    history = "\n".join(",".join(line) for line in lines) + "\n"
    alone = "\n".join(
        ",".join([*line[:place], line[place] or f"lone {number}", *line[place + 1 :]])
        for number, line in enumerate(lines)
    )
    ask = [line.split(",") for line in ASK.splitlines()]
    for line in ask[1:]:
        line[place] = ""
    asked = "\n".join(",".join(line) for line in ask)
    nobody = "\n".join(",".join([*line[:place], "never seen", *line[place + 1 :]]) for line in ask[1:])
    expected = said(history=alone, ask=",".join(ask[0]) + "\n" + nobody)
    assert said(history=history, ask=asked) == expected


def test_a_task_of_no_kind_counts_for_the_shop_and_its_technician_alone(said):
    levels = ("--levels", "shop:8", "kind:10", "technician:10:0:kind")
    without = said(*levels, history=HISTORY)
    found = said(*levels, history=HISTORY + 9 * "t30,A,p,j1,,w1,2026-01-05,2026-01-20,2,9\n", ask=ASK.replace("k1", ""))
    assert float(found["t20"][1]) > float(without["t20"][1])


def test_a_quote_of_one_task_is_no_narrower_than_the_task(said):
    found = said(quotes="quote_id,type,task_id\nq9,job,t20\n")
    task, quote = ([float(figure) for figure in found[code]] for code in ("t20", "q9"))
    assert quote[2] / quote[1] >= task[2] / task[1]


def test_a_cell_may_hold_a_line_break(said):
    assert said(history=HISTORY.replace(",j1,", ',"j\n1",'), ask=ASK.replace(",j1,", ',"j\n1",')) == said()
