"""Whether the compiled scheduler can be had without compiling is known beforehand."""

import os
from pathlib import Path

from jobs.scheduling.calc.solve import warm
from jobs.scheduling.calc.solve.compiled.decode import decode
from jobs.scheduling.calc.solve.compiled.order import order_changes
from jobs.scheduling.calc.solve.compiled.saving import take_joined
from jobs.scheduling.calc.solve.replay.kernels import replay_range
from jobs.scheduling.calc.solve.standard.kernels import serial


def test_after_warming_up_it_is_warm_until_a_source_changes(tmp_path, monkeypatch):
    sources = tmp_path / "compiled"
    sources.mkdir()
    (sources / "decode.py").write_text("one")
    monkeypatch.setattr(warm, "COMPILED", sources)
    monkeypatch.setattr(warm, "_root", str(tmp_path / "cache"))
    assert not warm.is_warm()
    warm.warm_up()
    assert warm.is_warm()
    os.utime(sources / "decode.py", (1, 1))  # numba compiles again for a file written at another time
    assert not warm.is_warm()


def test_whatever_is_compiled_is_kept_in_the_folder_of_these_sources():
    """Scheduler, replay and standard projects alike: a stale inlined function is never fetched again."""
    warm.warm_up()
    for kernel in (decode, order_changes, take_joined, replay_range):
        assert len(kernel.signatures) == 1, "compiled beforehand, and only once"
    for kernel in (decode, order_changes, take_joined, replay_range, serial):
        assert Path(kernel.stats.cache_path).parent == warm._folder() / warm._stamp()


def test_a_folder_that_cannot_be_written_is_no_error(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setattr(warm, "_root", str(tmp_path / "file"))
    warm.warm_up()
    assert not warm.is_warm()


def test_a_web_process_waits_until_somebody_has_compiled_and_gives_up_in_the_end(monkeypatch):
    looked, warmed = [], []
    monkeypatch.setattr(warm, "is_warm", lambda: len(looked) == 2)
    monkeypatch.setattr(warm, "sleep", looked.append)
    monkeypatch.setattr(warm, "warm_up", lambda: warmed.append(True))
    assert warm.warm_up_when_compiled(look_seconds=7)
    assert (looked, warmed) == ([7, 7], [True])
    monkeypatch.setattr(warm, "is_warm", lambda: False)
    assert not warm.warm_up_when_compiled(times=3)
    assert warmed == [True], "it never compiles itself"
