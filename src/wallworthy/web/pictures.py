"""Answers that are not JSON, and how the schema tells of them."""

from __future__ import annotations

from typing import Any, Final

from fastapi import Response

from wallworthy.journey.live import Numbers, Picture


def _binary(*kinds: str, description: str) -> dict[str, Any]:
    content = {kind: {"schema": {"type": "string", "format": "binary"}} for kind in kinds}
    return {"response_class": Response, "responses": {200: {"description": description, "content": content}}}


JPEG: Final = _binary("image/jpeg", description="A JPEG picture with its profile")
PICTURE: Final = _binary("image/jpeg", "image/png", description="A picture with its profile")
GREY: Final = _binary("image/png", description="8-bit grey without a profile")
FILE: Final = _binary("application/octet-stream", description="The file")
NUMBERS: Final = _binary(
    "application/octet-stream", description="Plain numbers; X-Width, X-Height and X-Nodes say how they lie"
)
EVENTS: Final[dict[str, Any]] = {
    "response_class": Response,
    "responses": {200: {"description": "Events", "content": {"text/event-stream": {"schema": {"type": "string"}}}}},
}
UPLOADED: Final = 8 << 30
"""Uploads are bounded more narrowly, each by its kind, while they are streamed."""
UPLOAD: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "properties": {"file": {"type": "string", "format": "binary"}},
                    "required": ["file"],
                }
            }
        },
    }
}


def picture_answer(picture: Picture) -> Response:
    """An encoded picture."""
    headers = {"X-Width": str(picture.width_px), "X-Height": str(picture.height_px)}
    return Response(picture.data, media_type=picture.media_type, headers=headers)


def numbers_answer(numbers: Numbers) -> Response:
    """Numbers as they lie in memory."""
    return Response(numbers.data, media_type="application/octet-stream", headers=dict(numbers.headers))
