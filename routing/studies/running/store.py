"""Finished chunks on disk: written whole or not at all, and checked before they are used."""

import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from routing.studies.running.study import Column, Row, row_of
from structures.files.writer import PARTS, write_file

__all__ = ["ChunkStore", "rows_text"]

_KEY_LENGTH = 16
"""Hex digits of the digest in the folder's name; the whole digest is in every chunk."""
_MOST_DELETED = 5
"""How often the folder may be deleted under a chunk before that is an error."""


def rows_text(columns: Sequence[Column], rows: Iterable[Sequence[Any]]) -> str:
    """Return rows as they are kept: a JSON list a line, floats so that they read back exactly."""
    return "".join(
        json.dumps(row_of(columns, row), ensure_ascii=True, allow_nan=False) + "\n" for row in rows
    )


class ChunkStore:
    """The finished chunks of one study, in a folder of their own below the work folder.

    A chunk is a file of JSON lines; its first line has the study's digest, the
    chunk's number, how many rows follow and their SHA-256. A file of which any of
    that is not as it should be counts as not there.

    Parameters
    ----------
    folder
        The work folder; studies share it.
    digest
        Of the study (`study_digest`).
    columns
        Of its rows.
    """

    def __init__(self, folder: Path, digest: str, columns: Sequence[Column]) -> None:
        self.digest = digest
        self.folder = folder / digest[:_KEY_LENGTH]
        self._columns = columns
        self.folder.mkdir(parents=True, exist_ok=True)

    def path(self, number: int) -> Path:
        """Return where a chunk is kept."""
        return self.folder / f"chunk-{number:07d}.jsonl"

    def put(self, number: int, text: str) -> None:
        """Keep the rows of a chunk.

        Raises
        ------
        OSError
            It cannot be written: the disk is full, or the folder must not be written in.
        """
        body = text.encode()
        head = json.dumps(self._head(number, body))
        data = head.encode() + b"\n" + body
        for _ in range(_MOST_DELETED):
            try:
                write_file(self.path(number), data)
            except FileNotFoundError:
                # Another run of the same study has ended and deleted its finished chunks.
                self.folder.mkdir(parents=True, exist_ok=True)
            else:
                return
        write_file(self.path(number), data)

    def state(self, number: int) -> str:
        """Tell whether a chunk is ``whole``, ``damaged`` or ``missing``."""
        if self._body(number) is not None:
            return "whole"
        return "damaged" if self.path(number).exists() else "missing"

    def rows(self, number: int) -> Iterator[Row] | None:
        """Return the rows of a chunk, or None if it is missing or damaged."""
        body = self._body(number)
        return None if body is None else self._read(body)

    def remove(self) -> None:
        """Delete all chunks, what killed runs left half-written, and the folder once empty."""
        for pattern in ("chunk-*.jsonl", PARTS):
            for path in self.folder.glob(pattern):
                path.unlink(missing_ok=True)
        for folder in (self.folder, self.folder.parent):
            # Not empty: of other studies, or of another run of this one; gone: by that too.
            with suppress(OSError):
                folder.rmdir()

    def _head(self, number: int, body: bytes) -> dict[str, str | int]:
        return {
            "study": self.digest,
            "chunk": number,
            "rows": body.count(b"\n"),
            "sha256": hashlib.sha256(body).hexdigest(),
        }

    def _body(self, number: int) -> bytes | None:
        try:
            data = self.path(number).read_bytes()
        except FileNotFoundError:
            return None
        head, _, body = data.partition(b"\n")
        try:
            found = json.loads(head)
        except (ValueError, RecursionError):
            return None
        return body if found == self._head(number, body) else None

    def _read(self, body: bytes) -> Iterator[Row]:
        for line in body.splitlines():
            yield row_of(self._columns, json.loads(line))
