from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from typing import Any

from wallworthy.journey.page import JobKind, JobView


class Queue:
    def add(self, kind: JobKind, ticket: str | None, asked: Mapping[str, Any]) -> JobView:
        raise NotImplementedError

    def list(self) -> tuple[JobView, ...]:
        raise NotImplementedError

    def get(self, job: str) -> JobView:
        raise NotImplementedError

    def cancel(self, job: str) -> JobView:
        raise NotImplementedError

    def tell_changed(self, ticket: str) -> None:
        raise NotImplementedError

    async def events(self, gone: Callable[[], Awaitable[bool]]) -> AsyncIterator[str]:
        raise NotImplementedError
        yield ""
