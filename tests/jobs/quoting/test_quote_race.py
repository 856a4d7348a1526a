"""Six processes accept the same quote at the same moment: one answer is kept, five are refused by name.

Six processes send six quotes of one piano at the same moment: one is open afterwards, five gave way to it.

The controls look before they write, as code without a lock would: several believe that theirs was kept. So the
processes do meet, and the one answer is not luck.
"""

import subprocess
import sys

import pytest
from django.conf import settings
from django.utils import timezone

from jobs.quoting import queries, services
from jobs.quoting.models import Answer, Quote
from tests.processes import environment, wait_for

PROCESSES = 6


@pytest.fixture
def quote(transactional_db, scope, boss):
    """A sent quote in the database of this test, which other processes can open."""
    return services.quote_send(quote=scope.quote, by=boss, at=timezone.now())


@pytest.fixture
def drafts(transactional_db, scope, boss):
    """Six drafts of one piano, in the database of this test."""
    return [scope.quote, *(services.quote_copy(quote=scope.quote, by=boss, at=timezone.now()) for _ in range(5))]


def race(how, quotes, folder):
    """Let six processes answer or send at once, each its own quote; return what each said."""
    folder.mkdir()
    env = environment(folder / "data")
    log = folder / "log"
    log.touch()
    args = [[how, str(quote.pk), str(quote.scopes.get().pk), str(folder)] for quote in quotes]
    started = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.jobs.quoting.race", *args[name], str(name)],
            env=env,
            cwd=settings.BASE_DIR,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        for name in range(PROCESSES)
    ]
    try:
        wait_for(lambda: len(list(folder.glob("ready-*"))) == PROCESSES, 80, log)
        (folder / "go").touch()
        return [process.communicate(timeout=60)[0].strip() for process in started]
    finally:
        for process in started:
            if process.poll() is None:
                process.kill()
                process.wait()


def test_one_of_six_is_kept_and_five_are_told_who_was_first(quote, tmp_path):
    said = race("locked", [quote] * PROCESSES, tmp_path / "race")
    assert sorted(line.split(":")[0] for line in said) == ["kept"] + ["refused"] * 5, said
    winner = f"Owner {said.index('kept')}"
    refusals = [line for line in said if line != "kept"]
    assert all(f"refused: {winner} accepted “Quiet keys” on " in line for line in refusals), said
    assert list(Answer.objects.values_list("name", flat=True)) == [winner]
    quote.refresh_from_db()
    assert quote.state == "accepted"


def test_the_control_that_looks_before_it_writes_believes_more_than_once(quote, tmp_path):
    said = race("naive", [quote] * PROCESSES, tmp_path / "race")
    assert said.count("kept") > 1, said


def test_of_six_quotes_sent_at_once_one_is_open_and_it_took_the_place_of_the_others(drafts, tmp_path):
    said = race("send", drafts, tmp_path / "race")
    assert said == ["kept"] * PROCESSES
    assert sorted(Quote.objects.values_list("state", flat=True)) == ["lapsed"] * 5 + ["sent"]
    assert all(queries.quote_check(quote) for quote in Quote.objects.all())


def test_the_control_that_looks_before_it_sends_leaves_several_open(drafts, tmp_path):
    race("naive-send", drafts, tmp_path / "race")
    assert Quote.objects.filter(state="sent").count() > 1
