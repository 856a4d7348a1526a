"""The pages of learned norms: what the manager reads and settles, and what others may not."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.estimating.models import HoursLog, NormDecision
from jobs.estimating.services import hours_for
from jobs.operations.models import NormVersion
from tests.factories import make_manager, make_operation, make_technician

pytestmark = pytest.mark.django_db


@pytest.fixture
def bush():
    return make_operation(hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18))


def logs(operation, hours, who=None, first=0):
    day = timezone.localdate()
    for place, each in enumerate(hours):
        HoursLog.objects.create(
            operation=operation, technician=who, norm_hours=12, norm_of_unit=12, hours=Decimal(str(each)),
            said_likely=12, said_80=16, finished_on=day - dt.timedelta(days=place), task_number=first + place + 1,
            instrument_words="164 Quillory upright", changed_at=timezone.now(),
        )  # fmt: skip


LONGER = [13.5, 14, 14.5, 15, 13.8, 14.2, 15.5, 13.9, 14.4, 14.1]


def test_a_norm_the_hours_speak_against_is_proposed_with_its_evidence(client, bush):
    client.force_login(make_manager())
    logs(bush, LONGER, make_technician())
    text = client.get(reverse("norm-hours", args=[bush.code])).content.decode()
    assert "the hours speak for 14 h" in text
    assert "10 logged tasks took longer than the norm, 0 took less" in text
    assert "Norm 12 h. Logged 10 of these, 13.5 to 15.5 h. Expect " in text
    listed = client.get(reverse("norms-learned")).content.decode()
    assert "The hours speak against one norm." in listed


def test_taking_the_proposal_changes_the_norm_and_keeps_both(client, bush):
    boss = make_manager()
    client.force_login(boss)
    logs(bush, LONGER)
    before = hours_for(operation=bush, quantity=1, kind="grand").likely
    client.post(reverse("norm-accept", args=[bush.code]), {"likely": "14.00"})
    bush.refresh_from_db()
    assert (bush.hours_likely, bush.edited) == (14, True)
    assert NormVersion.objects.get().likely_before == 12
    decision = NormDecision.objects.get()
    assert (decision.decided, decision.by, decision.norm_before) == ("accepted", boss, 12)
    assert hours_for(operation=bush, quantity=1, kind="grand").likely == pytest.approx(before, rel=0.05)
    text = client.get(reverse("norm-hours", args=[bush.code])).content.decode()
    assert "The norm may stay" in text or "the norm may stay" in text


def test_another_figure_than_the_one_read_is_not_taken(client, bush):
    client.force_login(make_manager())
    logs(bush, LONGER)
    answer = client.post(reverse("norm-accept", args=[bush.code]), {"likely": "15"}, follow=True)
    assert "look at the page again" in answer.content.decode()
    bush.refresh_from_db()
    assert bush.hours_likely == 12


def test_a_norm_kept_with_a_reason_is_proposed_again_after_five_more_logs(client, bush):
    client.force_login(make_manager())
    logs(bush, LONGER)
    answer = client.post(reverse("norm-keep", args=[bush.code]), {"reason": " "})
    assert answer.status_code == 422
    client.post(reverse("norm-keep", args=[bush.code]), {"reason": "A bad batch of cloth"})
    assert "A bad batch of cloth" in client.get(reverse("norm-hours", args=[bush.code])).content.decode()
    assert "speak against" not in client.get(reverse("norms-learned")).content.decode()
    logs(bush, [14.0] * 5, first=100)
    assert "speak against one norm" in client.get(reverse("norms-learned")).content.decode()


def test_a_mistyped_log_is_shown_and_can_be_left_out_and_counted_again(client, bush):
    client.force_login(make_manager())
    logs(bush, [*LONGER, 164])
    page = reverse("norm-hours", args=[bush.code])
    assert "Please look at these" in client.get(page).content.decode()
    log = HoursLog.objects.get(hours=164)
    client.post(reverse("norm-log-leave-out", args=[log.pk]), {"reason": "typed ten times too much"})
    text = client.get(page).content.decode()
    assert "Please look at these" not in text
    assert "not counted: typed ten times too much" in text
    client.post(reverse("norm-log-count", args=[log.pk]))
    log.refresh_from_db()
    assert log.counts
    answer = client.post(reverse("norm-log-leave-out", args=[log.pk]), {"reason": ""}, follow=True)
    assert "Say in a few words" in answer.content.decode()


def test_the_manager_sees_the_figures_of_all_and_a_technician_only_their_own(client, bush):
    corin, dilys = make_technician("Corin"), make_technician("Dilys")
    logs(bush, [14.0] * 12 + [17.0] * 10, corin)
    logs(bush, [15.0] * 3, dilys, first=100)
    client.force_login(make_manager())
    answer = client.get(reverse("hours-held"))
    text = answer.content.decode()
    assert answer.context["room_name"] == "Norms"
    assert "Of the last 25 tasks, 15 stayed under" in text
    assert "Corin" in text
    assert "figures too tight" in text
    assert "it stood at 1.33 times the likely one" in text
    warned = client.get(reverse("norms-learned")).content.decode()
    assert "Tasks: 15 of the last 25 stayed under their 8 in 10 figure." in warned
    assert "Corin: 12 of the last 22 stayed under" in warned
    assert "Dilys: " not in warned  # three are too few to tell
    client.force_login(dilys)
    answer = client.get(reverse("hours-held"))
    text = answer.content.decode()
    assert answer.context["room_name"] == "Bench"  # the norms are the manager's
    assert "Of your last 3 tasks, 3 stayed under" in text
    assert "Corin" not in text


@pytest.mark.parametrize("name", ["norm-hours", "norm-accept", "norm-keep"])
def test_norms_are_the_managers(client, bush, name):
    client.force_login(make_technician())
    ask = client.get if name == "norm-hours" else client.post
    assert ask(reverse(name, args=[bush.code])).status_code == 403
    client.logout()
    assert ask(reverse(name, args=[bush.code])).status_code == 302


def test_an_operation_that_is_none_is_not_found(client):
    client.force_login(make_manager())
    assert client.get(reverse("norm-hours", args=["nothing"])).status_code == 404
    assert client.post(reverse("norm-keep", args=["nothing"])).status_code == 404


def test_a_house_without_hours_says_so(client, bush):
    client.force_login(make_manager())
    assert "Nothing is logged yet" in client.get(reverse("norms-learned")).content.decode()
    assert "nothing is logged yet" in client.get(reverse("norm-hours", args=[bush.code])).content.decode()
    assert "No finished task to look back on yet" in client.get(reverse("hours-held")).content.decode()
    assert "Nothing logged yet. Expect 12 h" in client.get(reverse("norm-show", args=[bush.code])).content.decode()
