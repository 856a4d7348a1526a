"""The list of wire against strength times section, worked out by hand."""

from decimal import Decimal
from math import pi

import pytest
from django.urls import reverse

from parts.scale.models import WireSize
from parts.scale.queries import wire_rows

pytestmark = pytest.mark.django_db


def make_wire(mm, size, mpa):
    return WireSize.objects.create(
        gauge="American piano wire", size=size, diameter_mm=Decimal(mm), min_tensile_mpa=mpa, source="test"
    )


def test_a_size_breaks_at_its_strength_times_its_section():
    # 1.016 mm, 2172 MPa: pi/4 x 1.016 x 1.016 x 2172 = 1760.9 N. Worked out here, no source.
    make_wire("1.016", "17.5", 2172)
    make_wire("0.737", "12", 2285)
    thin, thick = wire_rows()
    assert (thin.size, thick.size) == ("12", "17½")
    assert thick.breaking_n == int(pi / 4 * 1.016**2 * 2172) == 1760
    assert thick.work_up_to_n == int(0.65 * pi / 4 * 1.016**2 * 2172)


def test_the_page_shows_loads_and_the_caution(as_technician):
    make_wire("1.016", "17.5", 2172)
    page = as_technician.get(reverse("wire-list")).content.decode()
    assert "1,760" in page
    assert "wear eye protection" in page
    text = as_technician.get(reverse("wire-list"), {"as": "csv"}).content.decode("utf-8-sig")
    assert "1.016,17½,American piano wire,2172,1760," in text
