"""One of several processes that answer, or send, a quote at once: ``python -m tests.jobs.quoting.race``.

Arguments: how (locked or send, or naive and naive-send: the controls that look first and write then), pk of quote
and scope, a folder to meet in, and the name of this process. It says "kept" or "refused" and why.
"""

import sys
import time
from pathlib import Path

import django

LOOKS_SECONDS = 0.3  # how long the naive one takes between looking and writing
PATIENCE_SECONDS = 90


def meet(folder: Path, name: str) -> None:
    """Say that this process is ready, and wait until all may go."""
    (folder / f"ready-{name}").touch()
    until = time.monotonic() + PATIENCE_SECONDS
    while not (folder / "go").exists():
        if time.monotonic() > until:
            raise SystemExit("nobody said go")
        time.sleep(0.005)


def main(how: str, quote_pk: str, scope_pk: str, folder: str, name: str) -> None:
    django.setup()
    from django.utils import timezone

    from jobs.quoting import services
    from jobs.quoting.models import Quote, Scope
    from workshop.web.errors import Refused

    quote, scope = Quote.objects.get(pk=quote_pk), Scope.objects.get(pk=scope_pk)
    meet(Path(folder), name)
    if how == "send":
        services.quote_send(quote=quote, by=quote.created_by, at=timezone.now())
        print("kept")
        return
    if how == "naive-send":
        others = list(Quote.objects.filter(instrument=quote.instrument, state=Quote.State.SENT))
        time.sleep(LOOKS_SECONDS)
        Quote.objects.filter(pk=quote_pk).update(state=Quote.State.SENT, sent_at=timezone.now(), content_hash="naive")
        Quote.objects.filter(pk__in=[other.pk for other in others]).update(state=Quote.State.LAPSED)
        print("kept")
        return
    if how == "naive":
        row = Quote.objects.get(pk=quote_pk)
        if row.state != Quote.State.SENT:
            raise SystemExit("refused")
        time.sleep(LOOKS_SECONDS)
        Quote.objects.filter(pk=quote_pk).update(state=Quote.State.ACCEPTED)
        print("kept")
        return
    try:
        services.quote_answer(
            quote=quote, scope=scope, name=f"Owner {name}", at=timezone.now(), content_hash=quote.content_hash
        )
    except Refused as refusal:
        print(f"refused: {refusal}")
    else:
        print("kept")


if __name__ == "__main__":
    main(*sys.argv[1:])
