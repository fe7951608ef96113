"""Ctrl-C from the first moment to the last: one line and the status of an interrupt, and never a traceback.

While the program loads an interrupt is only noted: a library that is stopped half loaded cannot even tell of
it. When the work is done no further one counts. Only what the interpreter has inside itself is imported here:
while a file is read for it nothing is heard.
"""

import _signal as signal  # type: ignore[import-not-found]
import _thread
import sys
import time

_came: list[int] = []


def hold() -> None:
    """Note an interrupt, no more, until `let_come`; where interrupts are ignored they stay so."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _note)
        sys.unraisablehook = _unraisable


def let_come() -> None:
    """Raise KeyboardInterrupt for an interrupt that was noted, and from now on for each."""
    if signal.getsignal(signal.SIGINT) is _note:
        signal.signal(signal.SIGINT, _raise)
        if _came:
            raise KeyboardInterrupt


def no_more() -> None:
    """Ignore interrupts from now on: all is done but leaving."""
    if signal.getsignal(signal.SIGINT) in (_note, _raise):
        signal.signal(signal.SIGINT, signal.SIG_IGN)


def came() -> bool:
    """Tell whether there was an interrupt; a library may have made another error of it."""
    return bool(_came)


def _note(number: int, _: object) -> None:
    _came.append(number)


def _raise(number: int, _: object) -> None:
    _came.append(number)
    raise KeyboardInterrupt


def _unraisable(what: "sys.UnraisableHookArgs") -> None:
    """Raise an interrupt anew that came where none can be raised, in a callback of the interpreter's."""
    if issubclass(what.exc_type, KeyboardInterrupt):
        _thread.start_new_thread(_again, ())
    else:
        sys.__unraisablehook__(what)


def _again() -> None:
    # A moment later, or it would be raised here, where none can be either.
    time.sleep(0.01)
    _thread.interrupt_main()
