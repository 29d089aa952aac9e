"""What every operation of the API shares in its description: the one shape of its errors."""

from __future__ import annotations

from typing import Any

_TEXT = {"type": "string"}
_DETAIL = {
    "type": "object",
    "required": ["path", "code", "message"],
    "properties": {
        "path": {**_TEXT, "description": "Where in the request, for example boats[2].luff_length."},
        "code": _TEXT,
        "message": _TEXT,
    },
}
_ERROR = {
    "type": "object",
    "description": "What was wrong with a request: everything at once, each with its place.",
    "required": ["code", "message", "details"],
    "properties": {"code": _TEXT, "message": _TEXT, "details": {"type": "array", "items": _DETAIL}},
}


def describe_errors(result: dict[str, Any], **context: Any) -> dict[str, Any]:
    """A hook of drf-spectacular: every operation may refuse a request, with a body of the one shape (see api_errors)."""
    result["components"]["schemas"]["Error"] = _ERROR
    refused = {
        "description": "Refused: nothing was stored.",
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Error"}}},
    }
    for operations in result["paths"].values():
        for operation in operations.values():
            operation["responses"].setdefault("4XX", refused)
    return result
