"""A backup as a stream of sealed pieces: nobody reads, changes, swaps or cuts it off unnoticed.

The file begins with a line that says what it is and a line of JSON about how it is sealed. Then
come pieces: a byte that is 1 for the last piece, four bytes of length, and the sealed content,
which is compressed as a whole. With a key each piece is sealed by AES-256-GCM under a key of this
file alone, derived by HKDF-SHA256 from the given key and a random salt; the nonce counts the pieces
and marks the last (the STREAM construction of Hoang, Reyhanitabar, Rogaway and Vizar, 2015).
Without a key each piece carries a SHA-256 of itself and all before it, which finds damage, not
malice.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import secrets
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final, Protocol

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

FIRST_LINE: Final = b"Seasonplan backup\n"
FORMAT: Final = 1
KEY_BYTES: Final = 32
PIECE_BYTES: Final = 1024 * 1024
LARGEST_PIECE: Final = PIECE_BYTES + 64
LONGEST_HEAD: Final = 4096
LONGEST_LINE: Final = 64 * 1024 * 1024


class Unreadable(Exception):
    """The file cannot be used as a backup, and why, in a sentence."""


DAMAGED = "The file is damaged or was changed: what it says does not fit its seals."
CUT_OFF = "The file is cut off: its end is missing."
NEEDS_KEY = "The backup is encrypted: give its key with --key-file."
WRONG_KEY = "The key does not open this backup: it is another key, or the file was changed."


# Keys ----------------------------------------------------------------------------------------


def new_key() -> str:
    """A fresh key as the text of a key file: 32 random bytes in URL-safe base64."""
    return base64.urlsafe_b64encode(secrets.token_bytes(KEY_BYTES)).decode() + "\n"


def read_key(path: Path) -> bytes:
    """The key in a key file. Raises Unreadable, which never quotes the file."""
    try:
        text = path.read_text(encoding="ascii").strip()
        key = base64.b64decode(text, altchars=b"-_", validate=True)
    except OSError as error:
        raise Unreadable(f"The key file {path} cannot be read: {error.strerror}.") from error
    except (UnicodeDecodeError, binascii.Error) as error:
        raise Unreadable(NO_KEY.format(path=path)) from error
    if len(key) != KEY_BYTES:
        raise Unreadable(NO_KEY.format(path=path))
    return key


NO_KEY = "{path} holds no key; make one with `manage.py backup --make-key FILE`."


# Seals ---------------------------------------------------------------------------------------


class Seal(Protocol):
    """Closes and opens the pieces of one file in their order."""

    def close(self, piece: bytes, *, last: bool) -> bytes: ...

    def open(self, sealed: bytes, *, last: bool) -> bytes: ...


class Checksums:
    """Each piece with a SHA-256 of the head, itself and all pieces before it."""

    def __init__(self, head: bytes) -> None:
        self._so_far = hashlib.sha256(head)

    def close(self, piece: bytes, *, last: bool) -> bytes:
        return piece + self._digest(piece, last)

    def open(self, sealed: bytes, *, last: bool) -> bytes:
        piece, digest = sealed[:-32], sealed[-32:]
        if self._digest(piece, last) != digest:
            raise Unreadable(DAMAGED)
        return piece

    def _digest(self, piece: bytes, last: bool) -> bytes:
        self._so_far.update(bytes([last]) + piece)
        return self._so_far.digest()


class Encryption:
    """Each piece under AES-256-GCM; the head is authenticated with every one of them."""

    def __init__(self, key: bytes, salt: bytes, head: bytes) -> None:
        own_key = HKDF(SHA256(), KEY_BYTES, salt, b"seasonplan backup 1").derive(key)
        self._cipher = AESGCM(own_key)
        self._head = head
        self._number = 0

    def close(self, piece: bytes, *, last: bool) -> bytes:
        return self._cipher.encrypt(self._nonce(last), piece, self._head)

    def open(self, sealed: bytes, *, last: bool) -> bytes:
        is_first = self._number == 0
        try:
            return self._cipher.decrypt(self._nonce(last), sealed, self._head)
        except InvalidTag as error:
            raise Unreadable(WRONG_KEY if is_first else DAMAGED) from error

    def _nonce(self, last: bool) -> bytes:
        nonce = self._number.to_bytes(11, "big") + bytes([last])
        self._number += 1
        return nonce


# Writing and reading -------------------------------------------------------------------------


class SealedWriter:
    """Writes lines into a file as sealed pieces; `finish` closes the last one."""

    def __init__(self, file: BinaryIO, key: bytes | None) -> None:
        salt = secrets.token_bytes(16)
        head: dict[str, int | str] = {"format": FORMAT, "encrypted": key is not None}
        if key is not None:
            head["salt"] = salt.hex()
        said = FIRST_LINE + json.dumps(head).encode() + b"\n"
        file.write(said)
        self._file = file
        self._seal: Seal = Encryption(key, salt, said) if key else Checksums(said)
        self._packer = zlib.compressobj(6)
        self._waiting = bytearray()

    def line(self, text: str) -> None:
        self._take(self._packer.compress(text.encode() + b"\n"))

    def finish(self) -> None:
        self._take(self._packer.flush())
        self._write(bytes(self._waiting), last=True)

    def _take(self, packed: bytes) -> None:
        self._waiting += packed
        while len(self._waiting) > PIECE_BYTES:
            self._write(bytes(self._waiting[:PIECE_BYTES]), last=False)
            del self._waiting[:PIECE_BYTES]

    def _write(self, piece: bytes, *, last: bool) -> None:
        sealed = self._seal.close(piece, last=last)
        self._file.write(bytes([last]) + len(sealed).to_bytes(4, "big") + sealed)


def sealed_lines(file: BinaryIO, key: bytes | None) -> Iterator[str]:
    """The lines of a sealed file, each from pieces that were checked before. Raises Unreadable."""
    return _lines(_pieces(file, _seal_of(file, key)))


def _seal_of(file: BinaryIO, key: bytes | None) -> Seal:
    first = file.readline(len(FIRST_LINE))
    if first != FIRST_LINE:
        raise Unreadable("This is no backup of Seasonplan.")
    second = file.readline(LONGEST_HEAD)
    try:
        head = json.loads(second)
        form, encrypted = head["format"], head["encrypted"]
        salt = bytes.fromhex(head.get("salt", ""))
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise Unreadable(DAMAGED) from error
    if form != FORMAT:
        raise Unreadable(
            f"The backup has the form {form}; this version of Seasonplan reads the form {FORMAT}."
        )
    if encrypted and key is None:
        raise Unreadable(NEEDS_KEY)
    if not encrypted and key is not None:
        raise Unreadable("The backup is not encrypted; leave out --key-file to restore it.")
    return Encryption(key, salt, first + second) if key else Checksums(first + second)


def _pieces(file: BinaryIO, seal: Seal) -> Iterator[bytes]:
    last = False
    while not last:
        front = file.read(5)
        if len(front) < 5:
            raise Unreadable(CUT_OFF)
        length = int.from_bytes(front[1:], "big")
        if front[0] > 1 or length > LARGEST_PIECE:
            raise Unreadable(DAMAGED)
        sealed = file.read(length)
        if len(sealed) < length:
            raise Unreadable(CUT_OFF)
        last = front[0] == 1
        yield seal.open(sealed, last=last)
    if file.read(1):
        raise Unreadable(DAMAGED)


def _lines(pieces: Iterator[bytes]) -> Iterator[str]:
    unpacker = zlib.decompressobj()
    rest = b""
    for unpacked in _unpacked(pieces, unpacker):
        *whole, rest = (rest + unpacked).split(b"\n")
        if len(rest) > LONGEST_LINE:
            raise Unreadable(DAMAGED)
        for line in whole:
            yield line.decode()
    if rest or not unpacker.eof:
        raise Unreadable(DAMAGED)


def _unpacked(pieces: Iterator[bytes], unpacker: zlib._Decompress) -> Iterator[bytes]:
    """Bounded parts of what the pieces hold, so that no piece can unpack to fill the memory."""
    try:
        for piece in pieces:
            packed = piece
            while packed:
                yield unpacker.decompress(packed, PIECE_BYTES)
                packed = unpacker.unconsumed_tail
        yield unpacker.flush()
    except zlib.error as error:
        raise Unreadable(DAMAGED) from error
