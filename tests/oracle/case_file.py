"""Writes tests/fixtures/case-file.json: a file of cases sealed by an independent library.

Run in a Python with the package `cryptography` (OpenSSL underneath): python tests/oracle/case_file.py
The layout is that of www/js/case_file.js, written here from its description; cipher and key derivation are the library's.
"""

import base64
import hashlib
import json
import pathlib

import cryptography
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.pbkdf2 import PBKDF2HMAC

PASSWORD = "naïve 7× – приклад"
ITERATIONS = 600_000
CHUNK = 512  # bytes: small, so that there are several pieces
SALT = bytes(range(16))
NONCE = bytes(range(100, 108))


def b64(data):
    return base64.b64encode(data).decode()


def line(value):
    return (json.dumps(value, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def main():
    photo = hashlib.shake_256(b"an invented photo").digest(1500)
    plan = json.dumps({"format": "counterpoise-plan", "version": 1, "case": {"label": "Zoë", "note": "", "date": ""}})
    body = line({
        "made_at": "2026-11-28T09:00:00.000Z", "with_photos": True,
        "cases": [{"id": "ab" * 16, "changed_at": "2026-11-27T08:00:00.000Z", "photo": "p1", "plan": plan,
                   "photos": [{"id": "p1", "type": "image/jpeg", "bytes": len(photo), "sha256": hashlib.sha256(photo).hexdigest()}]}],
    }) + photo
    head = line({"format": "counterpoise-cases", "version": 1, "sealed": {
        "cipher": "AES-256-GCM", "key": "PBKDF2-HMAC-SHA-256", "iterations": ITERATIONS, "salt": b64(SALT), "nonce": b64(NONCE), "chunk": CHUNK}})
    key = PBKDF2HMAC(algorithm=hashes.SHA256(), length=32, salt=SALT, iterations=ITERATIONS).derive(PASSWORD.encode())
    cipher = AESGCM(key)
    pieces = [body[at:at + CHUNK] for at in range(0, len(body), CHUNK)]
    sealed = head
    for index, piece in enumerate(pieces):
        is_last = index + 1 == len(pieces)
        sealed += cipher.encrypt(NONCE + index.to_bytes(4, "big"), piece, head + bytes([is_last]))
    fixture = {
        "by": f"cryptography {cryptography.__version__}", "password": PASSWORD, "salt": b64(SALT), "nonce": b64(NONCE), "chunk": CHUNK,
        "iterations": ITERATIONS, "body": b64(body), "sealed": b64(sealed), "photo_sha256": hashlib.sha256(photo).hexdigest(),
    }
    out = pathlib.Path(__file__).parent.parent / "fixtures" / "case-file.json"
    out.write_text(json.dumps(fixture, indent=1, ensure_ascii=False) + "\n")
    print(out, len(sealed), len(pieces))


main()
