"""What is wrong with a request before any of its body is read: RFC 9112 where two readers of one connection
could take its end for different places (request smuggling), and a size that no browser comes near."""

from __future__ import annotations

from collections.abc import MutableMapping
from typing import Any

LONGEST_HEAD = 16 * 1024
"""Bytes of address and headers together. A browser's own headers and our two cookies are about a thousand."""
Refusal = tuple[int, bytes]


def refusal(scope: MutableMapping[str, Any]) -> Refusal | None:
    """Status and sentence for a request that is not to be answered; its connection ends with it."""
    if _length(scope) > LONGEST_HEAD:
        return 431, b"The address and the headers of this request are too long."
    names = {name for name, _ in scope["headers"]}
    if b"transfer-encoding" in names and b"content-length" in names:
        return 400, b"A request says in one way alone where it ends (RFC 9112, section 6.3)."
    if b"transfer-encoding" in names and scope["http_version"] == "1.0":
        return 400, b"HTTP/1.0 knows no Transfer-Encoding (RFC 9112, section 6.1)."
    return None


def _length(scope: MutableMapping[str, Any]) -> int:
    headers = sum(len(name) + len(value) + len(b": \r\n") for name, value in scope["headers"])
    return len(scope["raw_path"]) + len(scope["query_string"]) + headers
