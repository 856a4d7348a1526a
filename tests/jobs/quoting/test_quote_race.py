"""Six processes accept the same quote at the same moment: one answer is kept, five are refused by name.

The control looks before it writes, as code without a lock would: all six believe that theirs was kept. So the
processes do meet, and the one answer is not luck.
"""

import subprocess
import sys

import pytest
from django.conf import settings
from django.utils import timezone

from jobs.quoting import services
from jobs.quoting.models import Answer
from tests.processes import environment, wait_for

PROCESSES = 6


@pytest.fixture
def quote(transactional_db, scope, boss):
    """A sent quote in the database of this test, which other processes can open."""
    return services.quote_send(quote=scope.quote, by=boss, at=timezone.now())


def race(how, quote, folder):
    """Let six processes answer at once; return what each said."""
    folder.mkdir()
    env = environment(folder / "data")
    log = folder / "log"
    log.touch()
    args = [how, str(quote.pk), str(quote.scopes.get().pk), str(folder)]
    started = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.jobs.quoting.race", *args, str(name)],
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
    said = race("locked", quote, tmp_path / "race")
    assert sorted(line.split(":")[0] for line in said) == ["kept"] + ["refused"] * 5, said
    winner = f"Owner {said.index('kept')}"
    refusals = [line for line in said if line != "kept"]
    assert all(f"refused: {winner} accepted “Quiet keys” on " in line for line in refusals), said
    assert list(Answer.objects.values_list("name", flat=True)) == [winner]
    quote.refresh_from_db()
    assert quote.state == "accepted"


def test_the_control_that_looks_before_it_writes_believes_more_than_once(quote, tmp_path):
    said = race("naive", quote, tmp_path / "race")
    assert said.count("kept") > 1, said
