import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.scheduling.calc.standard import StandardProject, UnreadableProject, project_read
from tests.jobs.scheduling.calc.projects import PATTERSON, PSPLIB


def test_both_layouts_of_one_project_read_the_same():
    psplib, patterson = project_read(PSPLIB, "folder/ours.sm"), project_read(PATTERSON, "ours.txt")
    assert psplib == patterson
    assert psplib == StandardProject(
        "ours",
        (0, 4, 3, 2, 5, 0),
        ((0, 0), (2, 1), (2, 0), (1, 2), (1, 1), (0, 0)),
        ((2, 3), (4,), (5,), (6,), (6,), ()),
        (3, 2),
    )


def test_the_layout_is_told_by_content_not_by_name():
    assert project_read(PSPLIB, "ours.txt") == project_read(PSPLIB, "ours.sm")


def changed(text, line, old, new):
    lines = text.splitlines(keepends=True)
    assert old in lines[line - 1]
    lines[line - 1] = lines[line - 1].replace(old, new, 1)
    return "".join(lines)


BAD = (
    (" \n", "the file is empty"),
    (changed(PATTERSON, 1, "6 2", "six 2"), "line 1: “six” stands where the count of activities should be"),
    (changed(PATTERSON, 1, "6 2", "7 2"), "line 9: the file ends where the duration of activity 7 should stand"),
    (PATTERSON + "7\n", "line 10: “7” stands after the last activity, number 6"),
    (changed(PATTERSON, 2, "3 2", "1 2"), "Activity 2 needs 2 of resource 1, of which there are 1"),
    (changed(PATTERSON, 4, "4 2 1 1 4", "-4 2 1 1 4"), "line 4: the duration of activity 2 is -4; it must be 0"),
    (changed(PATTERSON, 4, "1 4", "1 9"), "line 4: a follower of activity 2 is 9; it must be 6 or less"),
    (changed(PATTERSON, 4, "1 4", "1 2"), "line 4: activity 2 is named as its own follower"),
    (changed(PATTERSON, 6, "1 6", "1 2"), "Activities 2, 4 wait for each other in a circle"),
    (changed(PATTERSON, 6, "2 1 2", "2.5 1 2"), "line 6: “2.5” stands where"),
    (changed(PATTERSON, 6, "2 1 2", "9999999 1 2"), "add up to 10000011 periods"),
    (changed(PSPLIB, 5, ":  6", ":  "), "does not say how many jobs"),
    (changed(PSPLIB, 9, ":  0", ":  1"), "line 9: it has nonrenewable resources"),
    (changed(PSPLIB, 15, "1           4", "2           4"), "line 15: activity 2 should name 2 followers and names 1"),
    (changed(PSPLIB, 15, "2        1", "2        3"), "line 15: the count of modes of activity 2"),
    (changed(PSPLIB, 16, "3  ", "2  "), "line 16: activity 2 stands there twice"),
    (changed(PSPLIB, 25, "2    1", "2"), "line 25: activity 2 should have a mode, a duration and 2 needs"),
    (changed(PSPLIB, 29, "  6      1     0       0    0", ""), "line 28: activity 6 is missing"),
    (changed(PSPLIB, 31, "RESOURCEAVAILABILITIES", "STOCK"), "“RESOURCEAVAILABILITIES” is missing"),
    (changed(PSPLIB, 33, "3    2", "3"), "line 33: there should be 2 capacities; there are 1"),
)  # fmt: skip


@pytest.mark.parametrize(("text", "sentence"), BAD, ids=[sentence[:40] for _, sentence in BAD])
def test_a_bad_file_is_told_with_its_line(text, sentence):
    with pytest.raises(UnreadableProject) as told:
        project_read(text, "bad.txt")
    assert sentence in str(told.value)


@given(st.sampled_from((PATTERSON, PSPLIB)), st.data())
def test_a_damaged_file_is_read_or_told_never_a_crash(text, data):
    begin = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(begin, min(len(text), begin + 40)))
    damaged = text[:begin] + data.draw(st.text("0123456789 -.\nxR:*", max_size=8)) + text[end:]
    told = ""
    try:
        assert project_read(damaged, "damaged").size > 0
    except UnreadableProject as error:
        told = str(error)
    assert told == "" or told.endswith((".", "links", "unit."))
