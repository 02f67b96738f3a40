"""The house correction on the page: looked at, counted less surely after a change, forgotten."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from support.page_server import Server, serving
from wallworthy.journey.judging import Opinion, judge_sheet
from wallworthy.journey.testing import SheetWish, make_sheet

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("home")) as running:
        yield running


def test_the_house_correction_is_looked_at_and_forgotten(server: Server, tmp_path) -> None:
    ticket = server.started()["ticket"]
    before = server.ask("GET", f"/api/tickets/{ticket}/house")
    assert before["pictures"] == 0
    assert before["sentences"]
    make_sheet(server.home, ticket, SheetWish(out=tmp_path / "sheet.tif", ppi=100))
    judge_sheet(server.home, ticket, Opinion(best="A1", say=("A1 clearly too dark",)))
    learned = server.ask("GET", f"/api/tickets/{ticket}/house")
    assert learned["pictures"] == 1
    assert learned["correction"]["lightness"] > 0
    changed = server.ask("POST", f"/api/tickets/{ticket}/house", json={"changed": "a new ink"})
    assert changed["sd"]["lightness"] > learned["sd"]["lightness"]
    assert "a new ink" in changed["sentences"][0]
    forgotten = server.ask("POST", f"/api/tickets/{ticket}/house", json={"reset": True})
    assert forgotten["pictures"] == 0
    assert forgotten["correction"]["lightness"] == pytest.approx(0, abs=1e-9)
    server.ask("POST", f"/api/tickets/{ticket}/house", 422, json={"changed": ""})
