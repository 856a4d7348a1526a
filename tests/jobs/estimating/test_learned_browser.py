"""Correcting a norm in a real browser, every page of learned hours looked at by axe-core (WCAG 2.x rules)."""

import datetime as dt
from decimal import Decimal

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone

from jobs.estimating.models import HoursLog
from jobs.operations.models import Operation
from tests.factories import make_manager, make_operation, make_technician

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

LONGER = [13.5, 14, 14.5, 15, 13.8, 14.2, 15.5, 13.9, 14.4, 164]


def look(page):
    report = Axe().run(page)
    assert report.violations_count == 0, f"{page.url}\n{report.generate_report()}"
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), page.url


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1440, "light")])
def test_the_manager_takes_the_norm_the_hours_propose(browser, width, scheme):
    manager, corin = make_manager(), make_technician()
    bush = make_operation(hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18))
    for place, hours in enumerate(LONGER):
        HoursLog.objects.create(
            operation=bush, technician=corin, norm_hours=12, norm_of_unit=12, hours=Decimal(str(hours)),
            said_likely=12, said_80=16, finished_on=timezone.localdate() - dt.timedelta(days=place),
            instrument_words="164 Quillory upright", changed_at=timezone.now(),
        )  # fmt: skip
    page = browser.new_page()
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=scheme)
    page.goto("/sign-in/?next=/norms-learned/")
    page.fill("[name=username]", manager.username)
    page.fill("[name=password]", "a long password")
    page.keyboard.press("Enter")
    page.wait_for_url("**/norms-learned/")
    page.get_by_role("heading", name="The hours speak against one norm.").wait_for()
    look(page)
    page.get_by_role("link", name=bush.name).click()
    page.wait_for_url("**/hours/")
    page.get_by_text("The same as a table").click()
    look(page)
    page.get_by_role("button", name="Take this norm").press("Enter")
    page.get_by_text("The norm is changed.").wait_for()
    look(page)
    assert Operation.objects.get(pk=bush.pk).hours_likely == 14
    for address in ("/figures-held/", "/norms-learned/bring-in/", "/at-the-end/", f"/norms/{bush.code}/"):
        page.goto(address)
        look(page)
    page.goto("/norms-learned/bring-in/")
    page.fill("[name=text]", f"operation,hours,finished,norm\n{bush.code},12.5,2026-03-12,11\n")
    page.get_by_role("button", name="Look at it").click()
    page.get_by_role("button", name="Keep one past task").wait_for()
    assert page.locator("textarea:visible").count() == 1  # the table goes along unseen with the button that keeps it
    look(page)
