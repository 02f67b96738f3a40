"""Names of command groups, apart so that error handling needs no command loaded."""

from typing import Final

GROUPS: Final = frozenset({"paper", "condition", "light", "display"})
