from __future__ import annotations

from pathlib import Path


class StartAsked:
    def __init__(self, **asked: object) -> None:
        self.asked = asked


class ChangeAsked:
    def __init__(self, **asked: object) -> None:
        self.asked = asked


def start_on_page(home: Path, asked: StartAsked) -> str:
    raise NotImplementedError


def change_ticket(home: Path, ticket: str, asked: ChangeAsked) -> None:
    raise NotImplementedError
