"""Run a few lines of Python in a process of their own and learn its peak memory."""

from __future__ import annotations

import subprocess
import sys

REPORT = """
status = open("/proc/self/status", encoding="ascii").read()
print("peak-kB", status.split("VmHWM:")[1].split()[0])
"""


def peak_of(lines: str, *arguments: str, timeout_s: float = 120) -> tuple[int, str]:
    """Peak resident memory in MB of a fresh interpreter that runs the lines, and what they printed.

    The kernel's VmHWM counts this process alone; ru_maxrss would begin with the parent's peak.
    """
    done = subprocess.run(
        [sys.executable, "-c", lines + REPORT, *arguments],
        capture_output=True,
        text=True,
        timeout=timeout_s,
        check=True,
    )
    printed, _, peak = done.stdout.rpartition("peak-kB")
    return int(peak) // 1024, printed.strip()
