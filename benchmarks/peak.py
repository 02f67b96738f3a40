"""What a process has used, for the benchmarks."""

from __future__ import annotations

import resource
from pathlib import Path


def peak_mb() -> float:
    """Peak resident memory of this process; by the kernel's VmHWM, since ru_maxrss begins with the parent's peak."""
    status = Path("/proc/self/status")
    if status.is_file():
        return int(status.read_text(encoding="ascii").split("VmHWM:")[1].split()[0]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
