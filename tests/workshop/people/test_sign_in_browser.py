"""The door in a real browser."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.factories import make_manager

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("width", [390, 1440])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_manager_signs_in_by_keyboard_and_reads_the_workshop_page(browser, width, scheme):
    manager = make_manager()
    page = browser.new_page()
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=scheme)
    told = []
    page.on("console", lambda message: told.append(message.text) if message.type in {"error", "warning"} else None)
    page.goto("/sign-in/?next=/workshop/")
    assert Axe().run(page).violations_count == 0
    page.keyboard.type(manager.username)
    page.keyboard.press("Tab")
    page.keyboard.type("a long password")
    page.keyboard.press("Enter")
    page.wait_for_url("**/workshop/")
    page.get_by_role("heading", level=1).wait_for()
    report = Axe().run(page)
    assert report.violations_count == 0, report.generate_report()
    page.goto("/workshop/change/")
    report = Axe().run(page)
    assert report.violations_count == 0, report.generate_report()
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    assert told == []
