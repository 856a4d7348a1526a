import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from tests.jobs.scheduling.calc.projects import OPTIMUM, PATTERSON, PSPLIB


def run(*files, seconds=5):
    out, err = StringIO(), StringIO()
    try:
        call_command("plan_standard", *map(str, files), seconds=seconds, stdout=out, stderr=err)
        end = None
    except CommandError as error:
        end = str(error)
    return [json.loads(line) for line in out.getvalue().splitlines()], err.getvalue(), end


def test_a_folder_is_solved_one_line_each(tmp_path):
    (tmp_path / "a.sm").write_text(PSPLIB)
    (tmp_path / "b.txt").write_text(PATTERSON)
    (tmp_path / "notes.md").write_text("not a project")
    lines, told, end = run(tmp_path)
    assert [set(line) for line in lines] == [{"instance", "makespan", "bound", "seconds", "proved"}] * 2
    assert [(line["instance"], line["makespan"], line["bound"], line["proved"]) for line in lines] == [
        ("a", OPTIMUM, OPTIMUM, True),
        ("b", OPTIMUM, OPTIMUM, True),
    ]
    assert (told, end) == ("", None)


def test_a_bad_file_is_named_with_its_line_and_the_others_are_solved(tmp_path):
    bad, good = tmp_path / "bad.sm", tmp_path / "good.txt"
    bad.write_text(PSPLIB.replace("   2        1          1           4", "   2        1          1           99"))
    good.write_text(PATTERSON)
    lines, told, end = run(bad, tmp_path / "missing.txt", good)
    assert [line["instance"] for line in lines] == ["good"]
    assert f"{bad}, line 15: a follower of activity 2 is 99; it must be 6 or less." in told
    assert "missing.txt: there is no project file here." in told
    assert end == "2 of 3 files could not be planned; see above."


@pytest.mark.parametrize("seconds", [0, -1, float("nan")])
def test_seconds_must_be_above_nought(seconds):
    assert run("any", seconds=seconds)[2] == "--seconds must be above nought and below a million."
