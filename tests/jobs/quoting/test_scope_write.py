from decimal import Decimal

import pytest

from jobs.estimating.services import bundle_hours, hours_for
from jobs.quoting import services
from jobs.quoting.models import ScopeCharge
from tests.factories import MOMENT
from workshop.house.queries import the_shop
from workshop.web.errors import Refused

D = Decimal


def write(scope, chosen, refused=None, title="One way", **more):
    return services.scope_write(
        scope=scope, chosen={code: None for code in chosen} if isinstance(chosen, list) else chosen,
        refused=refused or {}, title=title, **more,
    )  # fmt: skip


def state(scope):
    scope.refresh_from_db()
    rows = scope.operations.order_by("position").values_list("operation__code", "because", "quantity", "hours_likely")
    return scope.title, scope.total_likely, list(rows)


def test_each_implied_operation_says_what_brought_it(scope, work):
    write(scope, ["ac-shank"])
    reason = scope.operations.get(operation=work["ac-hang"]).reason
    assert reason == "because of: Work ac-shank"


def test_the_order_of_work_keeps_every_prerequisite(scope):
    write(scope, ["ac-shank", "ky-bush"])
    order = list(scope.operations.order_by("position").values_list("operation__code", flat=True))
    assert order.index("ac-hbore") < order.index("ac-hang") < order.index("ky-weigh")


def test_two_alternatives_are_refused_by_name_and_nothing_is_lost(scope):
    before = state(scope)
    with pytest.raises(Refused, match="“Work ac-hang” and “Work ac-shape” are alternatives .hammers.: choose one"):
        write(scope, ["ac-hang", "ac-shape"], title="Another name")
    assert state(scope) == before


def test_a_chosen_alternative_stands_in_for_one_that_is_called_for(scope):
    write(scope, ["ac-shank", "ac-shape"])
    inside = set(scope.operations.values_list("operation__code", flat=True))
    assert "ac-shape" in inside
    assert not inside & {"ac-hang", "ac-hbore"}


def test_a_refused_operation_takes_what_only_it_dragged_along_with_it(scope, work):
    closed = write(scope, ["ac-shank"], {"ac-hang": "The owner brings hung hammers."})
    assert set(closed.codes) == {"ac-shank"}
    row = scope.operations.get(operation=work["ac-hang"])
    assert (row.because, row.reason, row.hours_likely) == ("refused", "The owner brings hung hammers.", 0)
    assert any("made necessary by: Work ac-shank" in trouble.sentence for trouble in closed.troubles)


@pytest.mark.parametrize(
    ("chosen", "refused", "sentence"),
    [
        ({"ac-shank": None}, {"ac-hang": "  "}, "without a reason"),
        ({"ac-hang": None}, {"ac-hang": "no"}, "both chosen and refused"),
        ({"ac-ubutt": None}, {}, "work on an upright; this instrument is a grand"),
        ({"no-such": None}, {}, "holds no operation “no-such”"),
        ({"ky-bush": D(0)}, {}, "above nought"),
        ({"ky-bush": D(-2)}, {}, "above nought"),
        ({"ky-bush": D(100)}, {}, "at most 99"),
        ({"ky-repair": D(86)}, {}, "at most 85 notes, which is all this instrument has"),
        ({"ky-repair": D("1.55")}, {}, "one decimal"),
        ({"ky-repair": D("NaN")}, {}, "at most 85 notes"),
        ({"tn-settle": D("2.5")}, {}, "whole passes"),
        ({"ky-bush": None}, {"rg-fine": "x" * 301}, "at most 300 letters"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_a_sentence_and_nothing_changes(scope, chosen, refused, sentence):
    before = state(scope)
    with pytest.raises(Refused, match=sentence):
        write(scope, chosen, refused)
    assert state(scope) == before


def test_a_way_needs_a_name(scope):
    with pytest.raises(Refused, match="short name"):
        write(scope, ["ky-bush"], title="   ")


def test_a_name_with_quotes_and_emoji_is_kept_as_it_is(scope):
    write(scope, ["ky-bush"], title="“Klavier’s” <b>best</b> 🎹 & more")
    assert state(scope)[0] == "“Klavier’s” <b>best</b> 🎹 & more"


def test_counts_follow_the_instrument_or_what_was_typed(scope, work):
    work["ky-repair"].usual_grand = D(88)
    work["ky-repair"].save()
    write(scope, {"ky-repair": None, "tn-settle": D(2)})
    counts = dict(scope.operations.values_list("operation__code", "quantity"))
    assert counts == {"ky-repair": D(85), "tn-settle": D(2)}


def test_hours_and_labour_are_those_of_the_bundle(scope, work):
    write(scope, ["ac-shank", "ky-bush"])
    scope.refresh_from_db()
    rows = scope.operations.all()
    hours = [hours_for(operation=row.operation, quantity=row.quantity, kind="grand") for row in rows]
    bundle = bundle_hours(hours)
    assert scope.hours_likely == pytest.approx(D(str(bundle.likely)), abs=D("0.05"))
    assert scope.hours_80 == pytest.approx(D(str(bundle.figure_80)), abs=D("0.05"))
    labour = sum(row.gross for row in scope.charges.filter(kind=ScopeCharge.Kind.LABOUR))
    assert labour == (scope.hours_likely * scope.quote.hourly_rate * D("1.2")).quantize(D("0.01"))


def test_parts_carry_the_shops_mark_up(scope):
    line = scope.charges.get(kind=ScopeCharge.Kind.PARTS)
    # 3 strips at 9.37, 15 % on top, 20 % VAT: 38.7918
    assert (line.words, line.gross) == ("Bushing cloth, 3 strips", D("38.79"))


def test_parts_per_note_follow_the_count(scope):
    write(scope, {"ky-repair": D(10)})
    assert scope.charges.get(kind=ScopeCharge.Kind.PARTS).words == "Key pin, 20 pieces"


@pytest.mark.parametrize("mode", ["net", "gross"])
def test_totals_are_what_the_lines_add_up_to(scope, mode):
    services.quote_change(
        quote=scope.quote,
        letter="Hello.",
        vat_mode=mode,
        vat_percent=D(20),
        hourly_rate=D("47.35"),
        deposit_percent=D(30),
    )
    services.charge_write(scope=scope, kind="outwork", words="Plating", amount=D("333.33"), vat_percent=D(5))
    scope.refresh_from_db()
    side = "gross" if mode == "gross" else "net"
    whole = sum(getattr(row, side) for row in scope.charges.all())
    assert whole == (scope.total_likely if mode == "gross" else scope.net_likely)
    assert scope.net_likely + scope.vat_likely == scope.total_likely
    assert scope.total_80 > scope.total_likely


def test_an_amount_by_hand_outlives_a_change_of_work(scope):
    services.charge_write(scope=scope, kind="transport", words="Carriage both ways", amount=D("280.00"))
    write(scope, ["ac-shape"])
    assert scope.charges.get(by_hand=True).gross == D("280.00")
    assert scope.charges.filter(words__startswith="Bushing cloth").count() == 0


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"amount": D("-1")}, "above nought"),
        ({"amount": D("1.005")}, "whole pence"),
        ({"amount": D("NaN")}, "whole pence"),
        ({"words": " "}, "what the amount is for"),
        ({"kind": "bribe"}, "from the list"),
        ({"vat_percent": D(120)}, "from 0 to 100"),
        ({"words": "x" * 201}, "200"),
    ],
)
def test_an_amount_that_cannot_be_is_refused(scope, more, sentence):
    with pytest.raises(Refused, match=sentence):
        services.charge_write(scope=scope, **{"kind": "outwork", "words": "Plating", "amount": D(10), **more})
    assert not scope.charges.filter(by_hand=True).exists()


def test_only_amounts_by_hand_can_be_taken_out_by_hand(scope):
    with pytest.raises(Refused, match="follows from the work"):
        services.charge_drop(charge=scope.charges.first())
    charge = services.charge_write(scope=scope, kind="outwork", words="Plating", amount=D(10))
    before = scope.total_likely
    services.charge_drop(charge=charge)
    scope.refresh_from_db()
    assert scope.total_likely == before


def test_an_amount_taken_out_meanwhile_does_not_come_back_by_a_change(scope):
    charge = services.charge_write(scope=scope, kind="outwork", words="Plating", amount=D(10))
    services.charge_drop(charge=charge)
    with pytest.raises(Refused, match="“Plating” was taken out of the quote meanwhile"):
        services.charge_write(scope=scope, kind="outwork", words="Gold", amount=D(12), charge=charge)
    assert not scope.charges.filter(by_hand=True).exists()


def test_switching_to_prices_without_vat_keeps_a_typed_amounts_own_side(scope):
    charge = services.charge_write(scope=scope, kind="outwork", words="Plating", amount=D("120.00"))
    quote = scope.quote
    services.quote_change(
        quote=quote, letter="Hello.", vat_mode="net", vat_percent=D(10), hourly_rate=D(48), deposit_percent=D(30)
    )
    charge.refresh_from_db()
    assert (charge.net, charge.gross, charge.vat_percent) == (D("100.00"), D("110.00"), D(10))


def test_working_out_anew_says_whether_anything_changed(scope, work):
    assert services.quote_work_out(quote=scope.quote) is False
    work["ky-bush"].hours_likely = D(15)
    work["ky-bush"].save()
    assert services.quote_work_out(quote=scope.quote) is True
    scope.refresh_from_db()
    assert scope.operations.get().hours_likely == D(15)


@pytest.mark.parametrize("change", ["write", "add", "remove", "charge", "drop", "letter", "work out"])
def test_nothing_of_a_sent_quote_can_be_changed(scope, boss, change):
    second = services.scope_add(quote=scope.quote, copy_of=scope)
    charge = services.charge_write(scope=scope, kind="outwork", words="Plating", amount=D(10))
    quote = services.quote_send(quote=scope.quote, by=boss, at=MOMENT)
    tries = {
        "write": lambda: write(scope, ["ac-shape"]),
        "add": lambda: services.scope_add(quote=quote),
        "remove": lambda: services.scope_remove(scope=second),
        "charge": lambda: services.charge_write(scope=scope, kind="outwork", words="More", amount=D(5)),
        "drop": lambda: services.charge_drop(charge=charge),
        "letter": lambda: services.quote_change(
            quote=quote, letter="x", vat_mode="net", vat_percent=D(20), hourly_rate=D(1), deposit_percent=D(0)
        ),
        "work out": lambda: services.quote_work_out(quote=quote),
    }
    with pytest.raises(Refused, match="was sent on Mon 11 Jan 2027 and stays as it was read"):
        tries[change]()


def test_the_shop_is_asked_for_its_mark_up_of_now(scope):
    shop = the_shop()
    shop.parts_markup_percent = D(0)
    shop.save()
    services.quote_work_out(quote=scope.quote)
    assert scope.charges.get(kind=ScopeCharge.Kind.PARTS).gross == D("33.73")  # 28.11 and 20 %: 33.732
