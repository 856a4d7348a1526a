"""Uploaded tables of readings: what holds, and a sentence with its place for what does not."""

import pytest

from jobs.assessment.calc.csv_readings import MOST_ROWS, ReadAs, csv_readings
from jobs.assessment.measure_data import reference
from workshop.keyboard.calc.notes import Compass

MEASURES = [
    ReadAs(r.code, r.name, r.said_as, r.value_kind, r.unit, r.units_accepted, r.choices, r.spot_kinds)
    for r in reference().measures
]
COMPASS = Compass(1, 85, last_wound=28)
PANELS = ("fall", "main lid")


def read(text):
    return csv_readings(text, MEASURES, COMPASS, PANELS)


GOOD = [
    # text of a row under the header, key, spot, value, choice, reason
    ("A4,,Down weight,52,g,", 49, "", 52, "", ""),
    ("c#5,,down-weight,52.5,g,", 53, "", 52.5, "", ""),
    ("49,,downweight,52,g,", 49, "", 52, "", ""),
    ("A4,,Down weight,1.8,oz,", 49, "", pytest.approx(51.029, abs=0.001), "", ""),
    ("A4,,Key dip at the front,0.4,in,", 49, "", pytest.approx(10.16), "", ""),
    ('A4,,Key dip at the front,"10,2",mm,', 49, "", 10.2, "", ""),
    ("A4,,Repetition,8,,", 49, "", 8, "", ""),
    (",bass,Wrest pin torque,80,in-lb,", None, "bass", pytest.approx(9.039, abs=0.001), "", ""),
    (",Fall,Condition of the finish,3,,", None, "fall", 3, "", ""),
    (",,Crack in the frame,no,,", None, "", None, "no", ""),
    ("A4,,Noise,,,".replace("Noise,", "Mechanical noise of a note,Click"), 49, "", None, "click", ""),
    ("A4,,Down weight,not measured: key seized,,", 49, "", None, "", "key seized"),
    ("A4,,Down weight,not measured,,key seized", 49, "", None, "", "key seized"),
]


@pytest.mark.parametrize(("row", "key", "spot", "value", "choice", "reason"), GOOD)
def test_a_good_row_is_taken(row, key, spot, value, choice, reason):
    rows, faults = read(f"note,spot,measure,value,unit,remark\n{row}\n")
    assert faults == []
    taken = rows[0]
    assert (taken.key, taken.spot, taken.value, taken.choice, taken.not_measured) == (key, spot, value, choice, reason)


@pytest.mark.parametrize(
    "text",
    [
        "\ufeffnote;measure;value;unit\r\nA4;Key dip at the front;10,2;mm\r\n",
        "Note\tMeasure\tValue\tUnit\nA4\tKey dip at the front\t10.2\tmm\n",
        "\n\nunit,value,measure,note\nmm,10.2,dip,A4\n\n",
        "note;measure;value;unit;;\nA4;dip;10,2;mm;;\n",
    ],
)
def test_spreadsheets_of_any_country_are_understood(text):
    rows, faults = read(text)
    assert faults == []
    assert (rows[0].key, rows[0].measure, rows[0].value) == (49, "dip", 10.2)


BAD = [
    # row, column, words
    ("A4,,Down weight,heavy,g,", "value", "is not a number"),
    ("A4,,Down weight,52,mm,", "unit", "does not fit this measure"),
    ("A4,,Down weight,52,,", "unit", "can be given in g, oz. Write which one"),
    ("A4,,Down weight,52 g,g,", "value", "the unit in its own field"),
    ("A4,,Down weight,,g,", "value", "No value is given"),
    ("A4,,Down weight,not measured,,", "value", "Write the reason"),
    ("A4,,Down weight,-5,g,", "value", "cannot be below nothing"),
    ("C8,,Down weight,52,g,", "note", "outside this instrument (85 notes, A0 to A7)"),
    ("H4,,Down weight,52,g,", "note", "is not a note"),
    ("A4,,Dawn weight,52,g,", "measure", "is no measure known here"),
    ("A4,,,52,g,", "measure", "No measure is given"),
    ("A4,bass,Down weight,52,g,", "spot", "to a note or to a spot, not to both"),
    ("A4,,Crack in the frame,no,,", "note", "is read for the whole or by section"),
    (",,Key split,yes,,".replace("Key split", "Split key"), "note", "is read note by note"),
    (",roof,Condition of the finish,3,,", "spot", "is no panel of this instrument"),
    (",fall,Condition of the finish,7,,", "value", "none of the answers: 0, 1, 2, 3, 4"),
    (",,Crack in the frame,perhaps,,", "value", "none of the answers: yes, no"),
    (",,Crack in the frame,no,mm,", "unit", "has no unit"),
    ("A4,,Key dip at the front,10,2,mm,", "unit", "belongs after a decimal comma"),
    ("A4,,Key dip at the front,10,2,mm,deep", "", "A decimal comma needs quotes"),
    (f"A4,,Down weight,52,g,{'x' * 201}", "remark", "longer than 200"),
    (f",{'x' * 41},Wrest pin torque,8,N.m,", "spot", "longer than 40"),
    ("A4,,Balance weight,38,g,", "note", "worked out"),
]


@pytest.mark.parametrize(("row", "column", "words"), BAD)
def test_a_bad_row_is_told_with_its_place(row, column, words):
    rows, faults = read(f"note,spot,measure,value,unit,remark\nA0,,Down weight,50,g,\n{row}\n")
    assert len(rows) == 1
    assert [(f.line, f.column) for f in faults] == [(3, column)]
    assert words in faults[0].sentence
    assert str(faults[0]).startswith("Line 3")


def test_a_reading_given_twice_is_told_and_the_first_kept():
    rows, faults = read("note,measure,value,unit\nA4,Down weight,52,g\nA4,downweight,55,g\n")
    assert [row.value for row in rows] == [52]
    assert str(faults[0]) == ("Line 3, column note: This measure at A4 is on line 2 already. Keep one of the two.")


@pytest.mark.parametrize(
    ("text", "column", "words"),
    [
        ("", "", "The file is empty"),
        (" \n\n", "", "The file is empty"),
        ("note,value\nA4,5\n", "measure", "is missing"),
        ("measure,value\ndip,5\n", "note", "“note” or “spot” is missing"),
        ("note,measure,value,colour\n", "colour", "is no column known here"),
        ("note,note,measure,value\n", "note", "is there twice"),
    ],
)
def test_a_bad_header_is_told_and_nothing_is_taken(text, column, words):
    rows, faults = read(text)
    assert rows == []
    assert any(fault.column == column and words in fault.sentence for fault in faults)


def test_a_phrase_of_two_measures_is_not_guessed():
    twins = [ReadAs("one", "One", ("play",)), ReadAs("two", "Two", ("play",))]
    _, faults = csv_readings("note,measure,value\nA4,play,3\n", twins, COMPASS)
    assert "can mean One or Two" in faults[0].sentence


def test_a_file_without_end_is_stopped():
    _, faults = read("note,measure,value,unit\n" + "A4,dip,x,mm\n" * (MOST_ROWS + 10))
    assert faults[-1].sentence.startswith(f"More than {MOST_ROWS} rows")
