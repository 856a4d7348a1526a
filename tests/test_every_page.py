"""Every page of the house in a real browser: three widths, light and dark.

One page for each address of the URLconf, on the demo shop. axe-core finds nothing (WCAG 2.x), the content security
policy is never broken, nothing is said on the console, nothing is asked of another machine, and no page scrolls
sideways on a phone.
"""

from io import StringIO

import pytest
from django.conf import settings as django_settings
from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from jobs.demo.build import demo_build
from jobs.portal.access import COOKIE
from jobs.portal.services import link_make, link_open
from jobs.worklist.models import Job
from tests.axe import violations
from tests.test_every_address import ALL, address
from workshop.people.models import Person

pytestmark = [pytest.mark.browser, pytest.mark.embedded, pytest.mark.django_db(transaction=True)]

WIDTHS = (390, 820, 1440)
# The document is one at all widths: what is drawn at another width or in other colours can change in these only.
DRAWN = (
    "color-contrast",
    "link-in-text-block",
    "target-size",
    "scrollable-region-focusable",
    "label",
    "link-name",
    "button-name",
    "empty-heading",
    "aria-hidden-focus",
)


class Crawl:
    """One browser page that goes everywhere and notes what is wrong."""

    def __init__(self, context, home):
        self.page, self.home = context.new_page(), home
        self.wrong: list[str] = []
        self.page.on("console", self._heard)
        self.page.on("pageerror", lambda error: self._note(str(error)))
        self.page.on("request", self._asked)

    def _note(self, what):
        self.wrong.append(f"{self.page.url}: {what}")

    def _heard(self, said):
        # A link that is over is answered with 410 Gone, which the browser also calls a failure to load.
        if said.type in ("error", "warning") and "status of 410" not in said.text:
            self._note(said.text)

    def _asked(self, request):
        if not request.url.startswith((self.home, "data:", "blob:")):
            self._note(f"asks another machine: {request.url}")

    def look(self, path):
        self.page.set_viewport_size({"width": WIDTHS[0], "height": 900})
        self.page.emulate_media(color_scheme="light")
        answer = self.page.goto(path)
        assert answer.ok or answer.status == 410, f"{path}: {answer.status}"
        for width in WIDTHS:
            self.page.set_viewport_size({"width": width, "height": 900})
            for scheme in ("light", "dark"):
                self.page.emulate_media(color_scheme=scheme)
                first = (width, scheme) == (WIDTHS[0], "light")
                rules = () if first else DRAWN[:2] if scheme == "dark" else DRAWN
                wrong = violations(self.page, rules)
                if wrong:
                    self._note(f"{width} px, {scheme}\n{wrong}")
            if width == WIDTHS[0]:
                over = self.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
                if over > 0:
                    self._note(f"scrolls {over} px sideways at {width} px")


def pages_of(client, names):
    """Return the addresses of those names that are whole pages; papers, files and fragments are none."""
    found = {}
    for name in names:
        path = address(name)
        answer = client.get(path)
        if answer.streaming:
            assert b"".join(answer.streaming_content)
        elif answer.status_code == 200 and answer.content.lstrip()[:9].lower() == b"<!doctype":
            found[name] = path
    return found


def cookie(name, value, home):
    return [{"name": name, "value": value, "url": home}]


def test_every_page_is_sound_at_three_widths_in_light_and_dark(browser, live_server):
    call_command("load_reference", stdout=StringIO())
    demo_build(at=timezone.now(), say=lambda _: None)
    staff = Client()
    staff.force_login(Person.objects.get(username="tamsin"), "django.contrib.auth.backends.ModelBackend")
    session = staff.cookies[django_settings.SESSION_COOKIE_NAME].value
    job = Job.objects.exclude(variations=None).exclude(variations__sent_at=None).latest("pk")
    instrument = job.instrument
    token = link_make(client=instrument.client, instrument=instrument, at=timezone.now())
    owner = Client()
    owner.cookies[COOKIE] = by_link = link_open(token=token, at=timezone.now())
    crawl = Crawl(browser, live_server.url)
    crawl.look("/sign-in/")
    browser.add_cookies(cookie(django_settings.SESSION_COOKIE_NAME, session, live_server.url))
    staffs = pages_of(staff, [name for name in ALL if not name.startswith(("portal-", "people-sign"))])
    assert len(staffs) > 60, sorted(staffs)
    for path in staffs.values():
        crawl.look(path)
    browser.clear_cookies()
    crawl.look("/your-piano/gone/")
    browser.add_cookies(cookie(COOKIE, by_link, live_server.url))
    sent = job.variations.exclude(sent_at=None).latest("pk")
    for path in ("/your-piano/", "/your-piano/where-it-stands/", f"/your-piano/variation/{sent.pk}/"):
        assert owner.get(path).status_code == 200, path
        crawl.look(path)
    assert crawl.wrong == [], "\n\n".join(crawl.wrong)
