"""How much memory a process has, as the system tells it: for a watch where it sets no limits itself."""

import ctypes
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

PROC = Path("/proc")
_LIMITED_QUERY = 0x1000
"""The right to ask for no more than such counts (PROCESS_QUERY_LIMITED_INFORMATION, as remembered)."""


class _Counters(ctypes.Structure):
    """What Windows counts of a process, PROCESS_MEMORY_COUNTERS of its psapi.h, as remembered."""

    _fields_ = (
        ("cb", ctypes.c_uint32),
        ("page_faults", ctypes.c_uint32),
        *((name, ctypes.c_size_t) for name in ("peak", "resident", "a", "b", "c", "d", "committed", "e")),
    )


def taken(process: int) -> int:
    """Return the bytes of memory of a process by its number, 0 where nothing tells."""
    try:
        if sys.platform == "win32":
            return _on_windows(process, ctypes.windll.kernel32)
        if PROC.is_dir():
            pages = (PROC / str(process) / "statm").read_text(encoding="ascii").split()[1]
            return int(pages) * os.sysconf("SC_PAGE_SIZE")
        said = subprocess.run(
            ["ps", "-o", "rss=", "-p", str(process)], capture_output=True, text=True, timeout=5, check=False
        )
        return int(said.stdout) * 1024
    except (OSError, ValueError, IndexError, subprocess.SubprocessError):
        return 0


def _on_windows(process: int, kernel: Any) -> int:
    kernel.OpenProcess.restype = ctypes.c_void_p
    handle = ctypes.c_void_p(kernel.OpenProcess(_LIMITED_QUERY, False, process))
    counters = _Counters(cb=ctypes.sizeof(_Counters))
    try:
        told = kernel.K32GetProcessMemoryInfo(handle, ctypes.byref(counters), counters.cb)
        return max(counters.resident, counters.committed) if told else 0
    finally:
        kernel.CloseHandle(handle)
