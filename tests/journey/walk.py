"""A person at a browser: every page they come to is looked at by axe-core, and must be quiet."""

import re
from io import BytesIO
from typing import Any

from pypdf import PdfReader

from tests.axe import violations
from workshop.people.models import Person

# Every kind of element on the page: its name, classes, role and type.
KINDS = """() => [...new Set([...document.querySelectorAll("body *")].map(
    one => [one.localName, one.getAttribute("class"), one.getAttribute("role"), one.getAttribute("type")].join(".")
))].sort().join(" ")"""


class Walk:
    """A person at a browser: every page they come to is looked at by axe."""

    def __init__(self, context: Any) -> None:
        self.page = context.new_page()
        self.page.set_default_timeout(15_000)
        self.seen: set[tuple[str, str]] = set()
        self.errors: list[str] = []
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("console", self._heard)
        self.page.on("response", self._answered)

    def _heard(self, said: Any) -> None:
        # A form that was refused comes back as 422, which the browser also calls a failure to load.
        if said.type == "error" and "status of 422" not in said.text:
            self.errors.append(f"{self.page.url}: {said.text}")

    def _answered(self, answer: Any) -> None:
        if answer.status >= 400 and answer.status != 422:
            self.errors.append(f"{answer.url}: {answer.status}")

    def look(self) -> None:
        """Let axe look at the page that is open, unless this page with the same kinds of things on it was looked at."""
        kind = (re.sub(r"\d+", "N", self.page.url.split("?")[0]), self.page.evaluate(KINDS))
        if kind not in self.seen:
            self.seen.add(kind)
            wrong = violations(self.page)
            assert not wrong, f"{self.page.url}\n{wrong}"

    def go(self, address: str) -> "Walk":
        self.page.goto(address)
        self.look()
        return self

    def press(self, words: str, *, exact: bool = True) -> "Walk":
        with self.page.expect_navigation():
            self.page.get_by_role("button", name=words, exact=exact).first.click()
        self.look()
        return self

    def send(self) -> "Walk":
        """Send the form of a page that has one."""
        with self.page.expect_navigation():
            self.page.locator("main form button.main").first.click()
        self.look()
        return self

    def follow(self, words: str) -> "Walk":
        with self.page.expect_navigation():
            self.page.get_by_role("link", name=words).first.click()
        self.look()
        return self

    def fill(self, **fields: str) -> "Walk":
        for name, value in fields.items():
            self.page.locator(f"main [name={name.replace('__', '-')}]").first.fill(value)
        return self

    def tick(self, words: str) -> "Walk":
        """Tick the box with these words beside it."""
        self.page.get_by_label(words).first.check()
        return self

    def unfold(self, inside: Any) -> Any:
        """Open the folded part that holds something, as a person would, and return it."""
        if not inside.is_visible():
            self.page.locator("details", has=inside).locator("summary").first.click()
        return inside

    def choose(self, name: str, value: str) -> "Walk":
        self.page.locator(f"main [name={name}][value='{value}']").check()
        return self

    @property
    def text(self) -> str:
        return self.page.locator("body").inner_text()

    def pdf(self, address: str) -> str:
        """Return the text of a paper, its line breaks taken out."""
        answer = self.page.context.request.get(address)
        assert answer.ok, f"{address}: {answer.status}"
        read = PdfReader(BytesIO(answer.body()))
        return " ".join(" ".join(page.extract_text() for page in read.pages).split())


def sign_in(walk: Walk, person: Person) -> None:
    walk.go("/sign-in/")
    walk.page.fill("[name=username]", person.username)
    walk.page.fill("[name=password]", "a long password")
    with walk.page.expect_navigation():
        walk.page.keyboard.press("Enter")
    walk.look()
