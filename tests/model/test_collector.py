"""When Python's collector of cycles is off, and when it goes on."""

from __future__ import annotations

import gc
from threading import Event, Thread
from weakref import ref

import pytest

from vault.model.collector import collector_paused


def test_it_pauses_and_goes_on_after_an_error_too() -> None:
    assert gc.isenabled()
    with collector_paused():
        assert not gc.isenabled()
    assert gc.isenabled()
    with pytest.raises(ValueError, match="x"), collector_paused():
        raise ValueError("x")
    assert gc.isenabled()


def test_it_goes_on_when_the_last_thread_is_done() -> None:
    inside, leave = Event(), Event()

    def other() -> None:
        with collector_paused():
            inside.set()
            leave.wait(60)

    thread = Thread(target=other)
    with collector_paused():
        thread.start()
        assert inside.wait(60)
    assert not gc.isenabled()
    leave.set()
    thread.join()
    assert gc.isenabled()


def test_where_blocks_of_threads_always_overlap_what_one_left_is_collected() -> None:
    class Loop:
        def __init__(self) -> None:
            self.itself = self

    with collector_paused():
        with collector_paused():  # as another thread's
            left = ref(Loop())
            assert left() is not None
        assert left() is None
        assert not gc.isenabled()


def test_what_somebody_turned_off_stays_off() -> None:
    gc.disable()
    try:
        with collector_paused():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()
