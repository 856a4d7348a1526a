"""Reading the reference data: what is in it, and every kind of bad row refused with its place."""

import math
import shutil
from pathlib import Path

import pytest

from jobs.operations.reference import read_reference
from jobs.operations.reference_table import ReferenceRefused

FOLDER = Path(__file__).parents[3] / "fixtures" / "reference"
REFERENCE = read_reference(FOLDER)


def test_the_reference_data_is_whole():
    assert len(REFERENCE.operations) == 100
    assert sum(map(len, REFERENCE.before.values())) == 205
    assert sum(map(len, REFERENCE.implies.values())) == 122
    assert len(REFERENCE.alternatives) == 6
    assert {row.stage for row in REFERENCE.operations} >= {"opening", "structure", "strings", "tuning"}


def test_every_operation_speaks_to_the_owner():
    trade_words = ("plank", "shank", "wippen", "downbearing", "agraffe", "let-off", "backcheck", "flange", "capstan")
    for row in REFERENCE.operations:
        for word in trade_words:
            explained = f"{word}," in row.client_words or f"{word}s," in row.client_words
            assert word not in row.client_words or explained, row


def test_a_gauge_size_is_its_diameter_as_the_published_rule_has_it():
    # encyclopaedia article on music wire, and a technicians' mailing list, Nov 2004:
    # thousandths of an inch = 2 x size + 5, for sizes 12 to 23
    sized = [wire for wire in REFERENCE.wire if wire.gauge == "American piano wire"]
    assert len(sized) == 23
    for wire in sized:
        assert wire.diameter_mm == pytest.approx((2 * float(wire.size) + 5) * 0.0254, abs=0.0006)


def test_wire_strength_follows_the_published_power_law():
    # mechanical engineering design textbook (from memory): least strength = 201 ksi / d^0.145, d in inches;
    # the supplier's table lies 0.5 to 2 per cent below
    for wire in REFERENCE.wire:
        law = 201 / (wire.diameter_mm / 25.4) ** 0.145 * 6.894757
        assert 0.975 < wire.min_tensile_mpa / law < 1.0


@pytest.mark.parametrize(
    ("size", "newton"),
    [("12", 974), ("14", 1238), ("16", 1528), ("20", 2186), ("23", 2753)],
)
def test_breaking_loads_come_out_as_computed_elsewhere(size, newton):
    # computed from the supplier's strengths by another program
    wire = next(wire for wire in REFERENCE.wire if wire.size == size)
    assert wire.min_tensile_mpa * math.pi / 4 * wire.diameter_mm**2 == pytest.approx(newton, rel=0.002)


def test_no_part_is_left_unused():
    assert {part.code for part in REFERENCE.parts} == {row.part for row in REFERENCE.operation_parts}


# file, text found in it, text put in its place, column, words of the sentence
BAD = [
    ("operations.csv", "in-bench,Intake", "in-book,Intake", "code", "is there already, on line"),
    ("operations.csv", "in-bench,Intake", "In Bench,Intake", "code", "is no code"),
    ("operations.csv", "no,2.5,4,7,", "no,5,4,7,", "hours_likely", "is less than hours_low"),
    ("operations.csv", "no,2.5,4,7,", "no,2.5,4,3,", "hours_high", "is less than hours_likely"),
    ("operations.csv", "no,2.5,4,7,", "no,0,4,7,", "hours_low", "must be above 0"),
    ("operations.csv", "no,2.5,4,7,", "no,2.5,four,7,", "hours_likely", "“four” is not a number"),
    ("operations.csv", "no,2.5,4,7,", "no,2.5,inf,7,", "hours_likely", "is not a number"),
    ("operations.csv", "no,2.5,4,7,", "maybe,2.5,4,7,", "in_passes", "“maybe” is not known here"),
    ("operations.csv", ",both,instrument,1,1,no,2.5,4", ",both,box,1,1,no,2.5,4", "unit", "“box” is not known"),
    ("operations.csv", ",both,instrument,1,1,no,2.5", ",harp,instrument,1,1,no,2.5", "applies_to", "“harp” is"),
    ("operations.csv", '7,0.8,assess,floor,0,,1,"Let', '7,0.8,gilder,floor,0,,1,"Let', "skill", "no skill of"),
    ("operations.csv", '7,0.8,assess,floor,0,,1,"Let', '7,0.8,assess,yard,0,,1,"Let', "work_place", "“yard”"),
    ("operations.csv", '7,0.8,assess,floor,0,,1,"Let', '7,0.8,assess,floor,5,,1,"Let', "wait_reason", "its reason"),
    ("operations.csv", '7,0.8,assess,floor,0,,1,"Let', '7,0.8,assess,floor,0,,0,"Let', "span_days", "too small"),
    ("operations.csv", '7,0.8,assess,floor,0,,1,"Let', '7,0.8,assess,floor,0,,1.5,"Let', "span_days", "whole number"),
    ("operations.csv", "no,2.5,4,7,0.8", "no,2.5,4,7,0", "upright_factor", "must be above 0"),
    ("operations.csv", "grand,instrument,1,0,no,3,5", "grand,instrument,1,1,no,3,5", "usual_upright", "must be 0"),
    ("operations.csv", "in-bench,Intake", "in-bench,Intake,extra", "", "Quote cells that hold a comma"),
    ("operation_links.csv", "in-enq,in-home,before", "in-enq,in-hom,before", "to", "no operation of the reference"),
    ("operation_links.csv", "in-enq,in-home,before", "in-home,in-home,before", "to", "linked to itself"),
    ("operation_links.csv", "in-enq,in-home,before", "in-enq,in-home,after", "kind", "“after” is not known"),
    ("operation_links.csv", "in-enq,in-home,before", "tn-after,in-home,before", "to", "wait for each other in a ring"),
    ("operation_links.csv", "in-enq,in-home,before", "mv-collect,in-book,before", "to", "is there already"),
    ("alternatives.csv", "hammers,ac-shape", "other,ac-shape", "group", "Alternatives are at least two"),
    ("alternatives.csv", "hammers,ac-shape", "hammers,ac-shave", "operation", "no operation of the reference"),
    ("parts.csv", "glue,Glue,kg,3", "glue,Glue,kg,-3", "lead_days", "too small"),
    ("parts.csv", "glue,Glue,kg,3,1600", "glue,Glue,kg,3,16.5", "price_pence", "not a whole number"),
    ("operation_parts.csv", "cs-veneer,glue", "cs-veneer,gluf", "part", "no part of the reference data"),
    ("operation_parts.csv", "cs-veneer,glue,0.25,panel", "cs-veneer,glue,0.25,note", "per", "“note” is not known"),
    ("operation_parts.csv", "cs-veneer,glue,0.25", "cs-veneer,glue,0", "quantity", "must be above 0"),
    ("measures.csv", "warp,Warp", "rust,Warp", "code", "is there already"),
    ("measures.csv", "number,mm,mm;cm;in;thou", "numbr,mm,mm;cm;in;thou", "value_kind", "“numbr” is not known"),
    ("measures.csv", "warp;warped", "warp;dip", "said_as", "already means"),
    ("measure_ranges.csv", "room-rh,grand,modern,40,60", "room-rh,grand,modern,60,40", "high", "below the low end"),
    ("measure_ranges.csv", "room-rh,grand,modern,40,60", "room-rh,grand,modern,,", "low", "a low or a high end"),
    ("measure_ranges.csv", "room-rh,grand,modern,40", "room-ph,grand,modern,40", "measure", "no measure of"),
    ("measure_ranges.csv", "room-rh,grand,modern,40", "room-rh,grand,new,40", "era", "“new” is not known"),
    ("measure_ranges.csv", "drop,grand,modern", "drop,upright,modern", "kind", "is read on grands only"),
    ("measure_ranges.csv", "modern,2,,1,common", "modern,2,,99,common", "at_key", "99 is no key"),
    ("measure_ranges.csv", "modern,2,,1,common", "modern,2,,,common", "at_key", "also given level"),
    ("measure_operations.csv", "warp,over,cs-lid", "warp,over,cs-lidd", "operation", "no operation of"),
    ("measure_operations.csv", "warp,over,cs-lid", "warp,above,cs-lid", "when", "“above” is not known"),
    ("measure_sentences.csv", "veneer-lift,looks", "veneer-lift,ugly", "severity", "“ugly” is not known"),
    ("measure_sentences.csv", "The finish is worn{where}", "The finish is worn{wher}", "over", "cannot be filled in"),
    ("measure_sentences.csv", "[is|are] tighter", "[is] tighter", "over", "[one|many]"),
    ("measure_sentences.csv", "rust,wear,", "rusts,wear,", "code", "has no line in measure_sentences.csv"),
    ("wire_sizes.csv", "0.737,", "0.787,", "diameter_mm", "is not 0.029 in"),
    ("wire_sizes.csv", "wire,12,0.029", "wire,12.5,0.029", "size", "is there already"),
]


@pytest.mark.parametrize(("file", "old", "new", "column", "words"), BAD)
def test_a_bad_row_is_refused_with_its_place(tmp_path, file, old, new, column, words):
    folder = shutil.copytree(FOLDER, tmp_path / "reference")
    text = (folder / file).read_text(encoding="utf-8")
    assert old in text
    (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")
    changed = text[: text.index(old)].count("\n") + 1
    with pytest.raises(ReferenceRefused) as raised:
        read_reference(folder)
    found = [f for f in raised.value.faults if f.column == column and words in f.sentence]
    assert found, str(raised.value)
    if found[0].file == file and not any(word in words for word in ("already", "ring", "level", "least two")):
        assert found[0].line == changed


def test_all_faults_are_told_at_once(tmp_path):
    folder = shutil.copytree(FOLDER, tmp_path / "reference")
    (folder / "skills.csv").unlink()
    (folder / "parts.csv").write_bytes(b"\xff\xfe\x00")
    text = (folder / "wire_sizes.csv").read_text(encoding="utf-8")
    (folder / "wire_sizes.csv").write_text(text.replace("size,diameter_in", "sise,diameter_in").replace("# Unit", "#"))
    with pytest.raises(ReferenceRefused) as raised:
        read_reference(folder)
    told = str(raised.value)
    assert "skills.csv, line 1: The file is missing." in told
    assert "parts.csv, line 1: The file is not UTF-8 text." in told
    assert "wire_sizes.csv, line 6, column size: The column is missing." in told
    assert "wire_sizes.csv, line 6, column sise: No such column is known." in told
    assert "wire_sizes.csv, line 1: The file must begin with a line “# Unit: …”." in told
