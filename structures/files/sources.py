"""Files taken in whole: size, kind and encoding are checked before anything is parsed."""

import codecs
import os
import stat
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import NamedTuple

from structures.errors import InvalidDocumentError, Problem
from structures.files.faults import FaultError

__all__ = ["LARGEST_FILE_BYTES", "InputFile", "Source", "read_source", "sibling_path"]

LARGEST_FILE_BYTES = 32 * 1024 * 1024
"""No file may be larger [bytes]: a station of 100,000 grips takes about 5 MiB."""

_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")


class InputFile(NamedTuple):
    """A file that an answer depends on: its name without folders, and its SHA-256 in hex."""

    name: str
    sha256: str


class Source(NamedTuple):
    """A file as read: the name shown to people, where it is, its text and its digest."""

    name: str
    path: Path
    text: str
    sha256: str

    @property
    def input_file(self) -> InputFile:
        """What a result records of this file."""
        return InputFile(PurePosixPath(self.name).name, self.sha256)


def read_source(path: Path, name: str | None = None) -> Source:
    """Read a text file whole.

    Parameters
    ----------
    path
        The file.
    name
        What messages call it; the file's own name if not given.

    Raises
    ------
    InvalidDocumentError
        The file is not there, is not a regular file, is larger than
        `LARGEST_FILE_BYTES`, empty, or not UTF-8.
    """
    import hashlib

    shown = path.name if name is None else name
    data = _read_bytes(path, shown)
    text = _decode(data, shown)
    if not text.strip():
        raise _refused(shown, "the file is empty", "write the document into it")
    return Source(shown, path, text, hashlib.sha256(data).hexdigest())


def sibling_path(folder: Path, name: str) -> Path:
    """Return the path of a file that a document in this folder names.

    Raises
    ------
    FaultError
        The name is absolute, climbs out of the folder, or leads out of it by a link.
    """
    beside = "name a .csv file beside the document or in a folder below it"
    windows = PureWindowsPath(name)
    if windows.is_absolute() or windows.drive or windows.root or name.startswith("~"):
        raise FaultError(f"{name!r} is not relative to the document's folder", beside)
    if not name.strip() or any(ord(sign) < 32 for sign in name):
        raise FaultError(f"{name!r} is not a file name", beside)
    if ".." in windows.parts:
        raise FaultError(f"{name!r} leads out of the document's folder", beside)
    if windows.suffix.lower() != ".csv":
        raise FaultError(f"{name!r} does not end in .csv", beside)
    path = folder / PurePosixPath(*windows.parts)
    if folder.resolve() not in path.resolve().parents:
        raise FaultError(f"{name!r} leads out of the folder by a link", "put the file itself there")
    return path


def _read_bytes(path: Path, shown: str) -> bytes:
    try:
        found = path.stat()
        # A folder, a device or a pipe is not opened: it might never end.
        data = b""
        if stat.S_ISREG(found.st_mode):
            with path.open("rb") as stream:
                data = stream.read(LARGEST_FILE_BYTES + 1)
    except FileNotFoundError:
        raise _refused(shown, "there is no such file", _what_is_there(path)) from None
    except OSError as error:
        reason = f"the file cannot be read: {error.strerror or error}"
        raise _refused(shown, reason, "check its name and rights") from None
    except ValueError:  # a NUL in the name
        raise _refused(repr(shown), "this is a bad file name", "check the name") from None
    if stat.S_ISDIR(found.st_mode):
        raise _refused(shown, "this is a folder", "name the document inside it")
    if not stat.S_ISREG(found.st_mode):
        raise _refused(shown, "this is not a regular file", "save the document to a file first")
    if len(data) > LARGEST_FILE_BYTES:
        raise _refused(
            shown,
            f"the file has {max(found.st_size, len(data))} bytes",
            f"the most allowed is {LARGEST_FILE_BYTES} bytes (32 MiB); "
            "leave out what is not part of the structure",
        )
    return data


def _what_is_there(path: Path) -> str:
    from difflib import get_close_matches

    try:
        names = sorted(entry.name for entry in os.scandir(path.parent))
    except OSError:
        return "check the folder and the name"
    nearest = get_close_matches(path.name, names, n=1)
    return f"did you mean {nearest[0]}?" if nearest else "check the folder and the name"


def _decode(data: bytes, shown: str) -> str:
    save = "save it as UTF-8"
    if data[:2] in _UTF16_MARKS:
        raise _refused(shown, "the file is UTF-16, not UTF-8", save)
    # Taken off here: the codec that does it is a module that nothing else loads.
    data = data.removeprefix(codecs.BOM_UTF8)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _refused(
            f"{shown}:{line}",
            f"byte 0x{data[error.start]:02X} is not UTF-8 text",
            f"{save} (it may be in an older encoding of a spreadsheet)",
        ) from None
    return text


def _refused(place: str, message: str, remedy: str) -> InvalidDocumentError:
    return InvalidDocumentError((Problem(place=place, message=message, remedy=remedy),))
