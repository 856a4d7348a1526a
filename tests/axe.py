"""What axe-core says about the page that is open in a browser: rules of WCAG 2.x and good practice."""

from typing import Any

from axe_playwright_python.base import AXE_SCRIPT, AxeResults

_RUN = "options => axe.run(document, options)"


def violations(page: Any, rules: tuple[str, ...] = ()) -> str:
    """Return what axe finds wrong, empty when nothing is; only these ``rules``, or all. axe is put in once a page."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    options: dict[str, Any] = {"resultTypes": ["violations"]}
    if rules:
        options["runOnly"] = {"type": "rule", "values": list(rules)}
    found = AxeResults(page.evaluate(_RUN, options))
    return found.generate_report() if found.violations_count else ""
