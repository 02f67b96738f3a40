"""Black and white through the page's server: looked at, kept with the ticket, told of, and on the job card."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from support.page_server import Server, serving

pytestmark = pytest.mark.practice


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with serving(tmp_path / "home") as running:
        yield running


def view(server: Server, ticket: str, **asked: str) -> np.ndarray:
    """The proof as the screen shows it, quick, with a white that is the screen's own."""
    options = {"width": "160", "paper_white": "false", "quality": "quick", **asked}
    answer = server.client.get(f"/api/tickets/{ticket}/view", params=options)
    assert answer.status_code == 200, answer.text
    return np.asarray(Image.open(io.BytesIO(answer.content)), dtype=float)


def spread(picture: np.ndarray) -> float:
    """How far the channels lie apart, codes, on average."""
    return float((picture.max(axis=-1) - picture.min(axis=-1)).mean())


def test_a_tone_can_be_looked_at_before_it_is_kept(server: Server) -> None:
    ticket = server.started()["ticket"]
    neutral = view(server, ticket, black_and_white="neutral")
    warm = view(server, ticket, black_and_white="paper-warm")
    assert spread(view(server, ticket)) > 40
    assert spread(neutral) < 4
    assert (warm[..., 0] - warm[..., 2]).mean() > (neutral[..., 0] - neutral[..., 2]).mean() + 4
    told = server.ask("GET", f"/api/tickets/{ticket}/report", params={"black_and_white": "cool"})["greys"]
    assert told["tone"] == "cool"
    assert told["off_mean_de00"] < 0.5
    assert "'cool'" in told["sentences"][0]
    assert server.ask("GET", f"/api/tickets/{ticket}")["black_and_white"] is None
    assert server.ask("GET", f"/api/tickets/{ticket}/report")["greys"] is None


def test_a_tone_stays_with_the_ticket_and_with_its_proof(server: Server) -> None:
    ticket = server.started(light="evening room")["ticket"]
    server.ask("POST", f"/api/tickets/{ticket}/proofed")
    told = server.ask("PATCH", f"/api/tickets/{ticket}", json={"black_and_white": "split"})
    assert told["black_and_white"] == "split"
    assert told["stage"] == "proof", "another tone asks for another look"
    assert "black and white split" in told["events"][-1]["text"]
    kept = view(server, ticket)
    assert np.array_equal(kept, view(server, ticket, black_and_white="split"))
    greys = server.ask("GET", f"/api/tickets/{ticket}/report")["greys"]
    assert any("evening room" in sentence for sentence in greys["sentences"]), "what the lamp does to greys"
    assert greys["shift_mean_de00"] is None, "the spectra of these inks are not known: a caution, no number"
    rose = server.ask("GET", f"/api/tickets/{ticket}/report")["rose"]["picture"]
    assert max(rose) == 0
    back = server.ask("PATCH", f"/api/tickets/{ticket}", json={"black_and_white": "none"})
    assert back["black_and_white"] is None
    assert "black and white none" in back["events"][-1]["text"]


def test_a_tone_that_is_none_is_refused(server: Server) -> None:
    ticket = server.started()["ticket"]
    refused = server.ask("PATCH", f"/api/tickets/{ticket}", 404, json={"black_and_white": "sepia"})["error"]
    assert refused["code"] == "tone_unknown"
    assert "neutral" in refused["mend"]
    assert server.ask("GET", f"/api/tickets/{ticket}")["black_and_white"] is None
    assert server.ask("GET", "/api/things")["tones"] == ["neutral", "paper-warm", "cool", "split"]


def test_the_card_of_a_final_names_the_tone(server: Server) -> None:
    ticket = server.started()["ticket"]
    server.ask("PATCH", f"/api/tickets/{ticket}", json={"black_and_white": "paper-warm"})
    job = server.done(server.ask("POST", f"/api/tickets/{ticket}/finals", 202, json={"ppi": 60}))
    assert job["state"] == "done", job
    card = f"/api/tickets/{ticket}/finals/{job['result']['final_no']}/card"
    assert server.ask("GET", f"{card}.json")["black_and_white"] == "paper-warm"
    assert "Black and white: warm middle tones" in " ".join(server.client.get(f"{card}.txt").text.split())
