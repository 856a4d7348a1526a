from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from jobs.operations.models import AlternativeGroup, OperationPart
from jobs.operations.queries import catalogue
from jobs.operations.services import norm_change
from tests.factories import TODAY, make_manager, make_operation, make_part, make_skill, make_technician
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def boss():
    return make_manager()


@pytest.fixture
def desk(boss):
    client = Client()
    client.force_login(boss, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def bushing():
    return make_operation("ky-bush", name="Rebush keys", source="common practice, no source")


def change(operation, boss, **more):
    given = {"hours_low": D(8), "hours_likely": D(12), "hours_high": D(18), "reason": "Cloth is thicker now.", **more}
    return norm_change(operation=operation, by=boss, on=TODAY, **given)


def test_it_keeps_the_hours_and_who_when_why_and_what_it_was(bushing, boss):
    row = change(bushing, boss)
    assert (row.hours_low, row.hours_likely, row.hours_high, row.edited) == (8, 12, 18, True)
    assert row.source == (
        "Tamsin, Mon 11 Jan 2027: Cloth is thicker now. Before: 7 / 11 / 16 h. common practice, no source"
    )


def test_a_long_history_is_cut_and_the_newest_word_stays(bushing, boss):
    for hours in range(12, 20):
        bushing.refresh_from_db()
        change(bushing, boss, hours_likely=D(hours), hours_high=D(30), reason=f"Reason {hours}.")
    bushing.refresh_from_db()
    assert len(bushing.source) <= 200
    assert "Reason 19" in bushing.source


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"hours_low": D(13)}, "low over likely to high"),
        ({"hours_high": D(11)}, "low over likely to high"),
        ({"hours_low": D(0)}, "above nought"),
        ({"reason": "  "}, "why the norm"),
        ({"hours_low": D(7), "hours_likely": D(11), "hours_high": D(16)}, "nothing was changed"),
        ({"hours_high": D("123456789")}, "figures at most"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_changes(bushing, boss, more, sentence):
    with pytest.raises(Refused, match=sentence):
        change(bushing, boss, **more)
    bushing.refresh_from_db()
    assert (bushing.hours_likely, bushing.edited) == (11, False)


def test_a_technician_changes_no_norm(bushing):
    with pytest.raises(Refused, match="by the manager"):
        change(bushing, make_technician())


def test_the_catalogue_as_data_holds_links_and_asks_four_times_whatever_its_size(django_assert_num_queries):
    rows = [make_operation(f"op-{number}", position=number, skill=make_skill("string")) for number in range(40)]
    rows[2].before.set(rows[:2])
    rows[2].implies.set([rows[5], rows[3]])
    AlternativeGroup.objects.create(code="pins", name="wrest pins").operations.set(rows[6:8])
    with django_assert_num_queries(4):
        cat = catalogue()
    assert cat.before["op-2"] == {"op-0", "op-1"}
    assert cat.implies["op-2"] == ("op-3", "op-5")
    assert cat.alternatives["wrest pins"] == ("op-6", "op-7")
    assert cat.operations["op-2"].skill == "string"
    assert list(cat.operations) == [row.code for row in rows]


def test_the_page_of_an_operation_shows_where_it_stands(desk, bushing):
    other = make_operation("ky-weigh", name="Weigh off")
    rival = make_operation("ky-other", name="Another bushing")
    other.before.set([bushing])
    bushing.implies.set([other])
    AlternativeGroup.objects.create(code="b", name="bushings").operations.set([bushing, rival])
    OperationPart.objects.create(operation=bushing, part=make_part("cloth", name="Bushing cloth"), quantity=D("0.5"))
    bushing.cautions = "Steam: ventilate"
    bushing.save()
    text = desk.get(reverse("norm-show", args=["ky-bush"])).content.decode()
    for words in ("Rebush keys: likely 11 h", "Weigh off", "Another bushing", "Bushing cloth", "Steam: ventilate",
                  "common practice, no source", "7 h, 11 h, 16 h"):  # fmt: skip
        assert words in text


def test_a_norm_is_changed_on_its_page(desk, bushing):
    data = {"hours_low": "8", "hours_likely": "12.5", "hours_high": "18", "reason": "Thicker cloth"}
    assert desk.post(reverse("norm-change", args=["ky-bush"]), data).status_code == 302
    bushing.refresh_from_db()
    assert bushing.hours_likely == D("12.5")
    assert "One norm is your own" in desk.get(reverse("norms-list")).content.decode()


@pytest.mark.parametrize(
    "bad", [{"hours_low": "x"}, {"hours_low": "-1"}, {"hours_low": "20"}, {"reason": ""}, {"hours_high": "1e9"}]
)
def test_bad_hours_come_back_with_what_was_typed(desk, bushing, bad):
    data = {"hours_low": "8", "hours_likely": "12.5", "hours_high": "18", "reason": "Thicker cloth", **bad}
    response = desk.post(reverse("norm-change", args=["ky-bush"]), data)
    assert response.status_code == 422
    assert 'value="12.5"' in response.content.decode()
    bushing.refresh_from_db()
    assert bushing.hours_likely == 11


@pytest.mark.parametrize("name", ["norm-show", "norm-change"])
def test_an_unknown_operation_is_not_found(desk, name):
    assert desk.get(reverse(name, args=["no-such"])).status_code == 404


@pytest.mark.parametrize(
    ("query", "found"), [("", 2), ("?area=keys", 2), ("?q=rebush", 1), ("?q=nothing", 0), ("?sort=-hours_likely", 2)]
)
def test_the_list_is_searched_filtered_and_sorted(desk, bushing, query, found):
    make_operation("ky-top", name="Renew tops", hours_likely=D(14))
    response = desk.get(reverse("norms-list") + query)
    assert response.context["table"].number_of_rows == found


def test_the_list_is_exported(desk, bushing):
    text = desk.get(reverse("norms-list") + "?as=csv").content.decode()
    assert "Rebush keys" in text
    assert ",11," in text
