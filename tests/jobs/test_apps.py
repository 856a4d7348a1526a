"""A web process loads the planner beside its first request, and only then."""

from django.core.signals import request_started

from jobs import apps


def test_the_first_request_loads_the_planner_once(monkeypatch, client, db):
    begun = []
    monkeypatch.setattr(apps, "Thread", lambda **given: type("T", (), {"start": lambda _: begun.append(given)})())
    request_started.connect(apps.first_request, dispatch_uid=apps.WARMED_ONCE)
    client.get("/sign-in/")
    client.get("/sign-in/")
    assert [(given["target"].__name__, given["daemon"]) for given in begun] == [("warm_up_when_compiled", True)]
