"""Opening what the user named: bytes in, checked text bytes out, every failure told in words."""

from __future__ import annotations

import difflib
import gzip
import io
import zlib
from pathlib import Path

from holdwater.errors import InputError

LARGEST = 400_000_000
"""Bytes a weather file may hold, packed or not; a 150-year record has about two million."""
PIECE = 1 << 18
"""Bytes unpacked at a time."""

_OTHER_KINDS = {
    b"PK\x03\x04": (
        "is a zip archive or a spreadsheet workbook; unpack it, or save the sheet as CSV, and name that file"
    ),
    b"\xd0\xcf\x11\xe0": "is an old spreadsheet workbook; save the sheet as CSV and name that file",
    b"%PDF": "is a PDF; the numbers must come as a text table (CSV)",
    b"BZh": "is packed with bzip2; unpack it first (gzip is read as it is)",
    b"\xfd7zXZ": "is packed with xz; unpack it first (gzip is read as it is)",
}


def locate(name: str, folder: Path) -> Path:
    """Find the weather file a scenario names.

    Parameters
    ----------
    name : str
        Path as written, absolute or relative to `folder`; `~` is the home folder.
    folder : Path
        Folder of the scenario file.

    Raises
    ------
    InputError
        No such file, or a folder in its place.
    """
    try:
        path = (folder / Path(name).expanduser()).absolute()
        if path.is_dir():
            raise InputError(f"weather file '{name}' is a folder; name the file inside it")
        if path.exists():
            return path
        near = [p.name for p in path.parent.iterdir() if p.is_file()] if path.parent.is_dir() else []
    except (OSError, ValueError, RuntimeError) as fault:
        raise InputError(f"weather file '{name}' cannot be looked up: {_reason(fault)}") from None
    close = difflib.get_close_matches(path.name, near, n=1)
    hint = f"; did you mean '{close[0]}'?" if close else "; paths count from the scenario file's folder"
    raise InputError(f"weather file '{name}' was not found in {path.parent}{hint}")


def read_bytes(path: Path) -> bytes:
    """The bytes of a file, unpacked where it is gzip (known by its content, not its name).

    Raises
    ------
    InputError
        Not readable, empty, a broken gzip, or another kind of file altogether.
    """
    try:
        if path.stat().st_size > LARGEST:
            raise InputError(f"weather file '{path.name}' is larger than {LARGEST // 10**6} MB")
        raw = path.read_bytes()
    except OSError as fault:
        raise InputError(f"weather file '{path.name}' cannot be read: {_reason(fault)}") from None
    if raw[:2] == b"\x1f\x8b":
        raw = _unzip(raw, path.name)
    for mark, cure in _OTHER_KINDS.items():
        if raw.startswith(mark):
            raise InputError(f"weather file '{path.name}' {cure}")
    if not raw or raw.isspace():
        raise InputError(f"weather file '{path.name}' is empty")
    return raw


def starts_with(path: Path, marks: tuple[bytes, ...]) -> bool:
    """Whether the file begins with one of these bytes; False where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(16).startswith(marks)
    except OSError:
        return False


def _unzip(raw: bytes, name: str) -> bytes:
    text = bytearray()
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(raw)) as packed:
            while len(text) <= LARGEST and (piece := packed.read(PIECE)):
                text += piece
    except (OSError, EOFError, zlib.error) as fault:
        raise InputError(
            f"weather file '{name}' is a damaged gzip file ({_reason(fault)}); fetch or pack it again"
        ) from None
    if len(text) > LARGEST:
        raise InputError(f"weather file '{name}' unpacks to more than {LARGEST // 10**6} MB")
    return bytes(text)


def as_text(raw: bytes, name: str, encoding: str | None = None) -> bytes:
    """Check and normalise text: UTF-8 bytes without a byte-order mark, lines ended by a line feed.

    Parameters
    ----------
    raw : bytes
        Content of the file.
    name : str
        For messages.
    encoding : str or None
        The encoding the scenario declares; None means UTF-8.

    Raises
    ------
    InputError
        The bytes are not text in that encoding; the message names the line, the byte and the cure.
    """
    if encoding:
        raw = _recode(raw, name, encoding)
    raw = raw.removeprefix(b"\xef\xbb\xbf")
    if not raw.isascii():
        try:
            raw.decode("utf-8")
        except UnicodeDecodeError as fault:
            raise InputError(_not_utf8(raw, name, fault)) from None
    if b"\x00" in raw:
        line = raw.count(b"\n", 0, raw.index(b"\x00")) + 1
        raise InputError(f"weather file '{name}' is not text: line {line} holds a zero byte")
    if b"\r" in raw:
        raw = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return raw


def _recode(raw: bytes, name: str, encoding: str) -> bytes:
    try:
        return raw.decode(encoding).encode()
    except LookupError:
        raise InputError(
            f"weather file '{name}': encoding = \"{encoding}\" is not known; "
            'use "utf-8", "latin-1", "cp1252" or "utf-16"'
        ) from None
    except (UnicodeError, ValueError):
        raise InputError(f"weather file '{name}' is not text in encoding = \"{encoding}\"") from None


def _not_utf8(raw: bytes, name: str, fault: UnicodeDecodeError) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return (
            f"weather file '{name}' is UTF-16 text, not UTF-8; save it as CSV UTF-8, "
            'or say encoding = "utf-16"'
        )
    line = raw.count(b"\n", 0, fault.start) + 1
    return (
        f"weather file '{name}' is not UTF-8 text: line {line} holds the byte 0x{raw[fault.start]:02x}; "
        'save it as CSV UTF-8, or say encoding = "latin-1" if it comes from an older program'
    )


def _reason(fault: BaseException) -> str:
    return getattr(fault, "strerror", None) or str(fault) or type(fault).__name__
