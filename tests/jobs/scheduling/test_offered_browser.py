"""Choosing between calm and early in a real browser: with the slider, and by links where there is no script."""

import pytest
from django.utils import timezone

from jobs.scheduling.models import Plan, PlanWish
from jobs.scheduling.queries import current_plan
from tests.factories import make_manager
from tests.jobs.scheduling.stored import make_shop
from tests.journey.walk import Walk, sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def ways():
    """Three empty plans that differ in how much they move."""
    make_shop()
    now = timezone.now()
    old = Plan.objects.create(made_at=now, is_current=True)
    wish = PlanWish.objects.create(asked_at=now, begun_at=now, done_at=now, why="hammers came late")
    return [
        Plan.objects.create(
            made_at=now, why=wish.why, wish=wish, is_offered=True, answers=old, way=way, told=20, moved=moved
        )
        for way, moved in ((Plan.Way.CALMEST, 2), (Plan.Way.BETWEEN, 5), (Plan.Way.EARLIEST, 11))
    ]


def test_the_slider_shows_another_way_and_the_one_that_is_shown_is_put_in_force(browser):
    offered, walk = ways(), Walk(browser)
    sign_in(walk, make_manager())
    walk.go("/plan/offered/")
    chosen = walk.page.locator("tr.chosen th")
    assert chosen.inner_text() == "In between"
    slider = walk.page.get_by_label("Between calm and early")
    slider.focus()
    walk.page.keyboard.press("ArrowRight")
    walk.page.get_by_role("button", name="Put “least late” in force").wait_for()
    assert (chosen.inner_text(), slider.input_value()) == ("Least late", "3")
    assert slider.evaluate("one => one === document.activeElement"), "the next key goes on from there"
    assert "least late: eleven of 20 tasks move" in (slider.get_attribute("aria-valuetext") or "")
    assert walk.page.url.endswith("/plan/offered/?way=3")
    walk.look()
    walk.press("Put “least late” in force")
    assert current_plan() == offered[2]
    assert walk.errors == []


def test_without_a_script_links_choose_and_buttons_answer(chromium, live_server):
    offered = ways()
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    page = context.new_page()
    manager = make_manager()
    page.goto("/sign-in/?next=/plan/offered/")
    page.fill("[name=username]", manager.username)
    page.fill("[name=password]", "a long password")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Fewest moves").click()
    assert page.locator("tr.chosen th").inner_text() == "Fewest moves"
    page.get_by_role("button", name="Show this way").click()
    page.get_by_role("button", name="Put “fewest moves” in force").click()
    page.get_by_text("The new plan is in force.").wait_for()
    assert current_plan() == offered[0]
    context.close()
