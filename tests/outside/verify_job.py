#!/usr/bin/env python3
"""Verifies an exported job from host/ledger/FORMAT.md alone: Python's standard library, no line of Swathplane.

Ed25519 is computed by the formulas of RFC 8032, section 5.1 (twisted Edwards curve, extended coordinates).
Usage: verify_job.py FILE [FINGERPRINT]. Exit code 0: in order, 1: changed, 3: not such a file.
"""
import base64
import binascii
import hashlib
import json
import re
import sys
from datetime import datetime

P = 2**255 - 19
L = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
SQRT_M1 = pow(2, (P - 1) // 4, P)


def add(a, b):
    """Sum of two points in extended coordinates (RFC 8032, 5.1.4)."""
    e = (a[1] - a[0]) * (b[1] - b[0]) % P
    f = (a[1] + a[0]) * (b[1] + b[0]) % P
    c = 2 * a[3] * b[3] * D % P
    d = 2 * a[2] * b[2] % P
    x, y, z, t = f - e, d - c, d + c, f + e
    return (x * y % P, z * t % P, y * z % P, x * t % P)


def times(n, point):
    total = (0, 1, 1, 0)
    while n > 0:
        if n & 1:
            total = add(total, point)
        point = add(point, point)
        n >>= 1
    return total


def same(a, b):
    return (a[0] * b[2] - b[0] * a[2]) % P == 0 and (a[1] * b[2] - b[1] * a[2]) % P == 0


def point_of(data):
    """A point from its 32 bytes (RFC 8032, 5.1.3); None when they are none."""
    y = int.from_bytes(data, "little")
    sign = y >> 255
    y &= (1 << 255) - 1
    if y >= P:
        return None
    x2 = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    if x2 == 0:
        return None if sign else (0, y, 1, 0)
    x = pow(x2, (P + 3) // 8, P)
    if (x * x - x2) % P != 0:
        x = x * SQRT_M1 % P
    if (x * x - x2) % P != 0:
        return None
    if x & 1 != sign:
        x = P - x
    return (x, y, 1, x * y % P)


BASE = point_of((4 * pow(5, P - 2, P) % P).to_bytes(32, "little"))


def holds(public_hex, message, signature_hex):
    """RFC 8032, 5.1.7."""
    public, signature = bytes.fromhex(public_hex), bytes.fromhex(signature_hex)
    a, r = point_of(public), point_of(signature[:32])
    s = int.from_bytes(signature[32:], "little")
    if a is None or r is None or s >= L:
        return False
    digest = hashlib.sha512(signature[:32] + public + message).digest()
    k = int.from_bytes(digest, "little") % L
    return same(times(s, BASE), add(r, times(k, a)))


class Unreadable(Exception):
    pass


class Wrong(Exception):
    pass


HASH, COUNT = "([0-9a-f]{64})", "([1-9][0-9]{0,14})"
TIME = r"([0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z)"
SIGNATURE, BASE64, STRING = "([0-9a-f]{128})", "([A-Za-z0-9+/]*={0,2})", '(".*")'
FORMS = [
    ("swathplane-job", False, ["2"]),
    ("writer", False, [STRING]),
    ("job", False, [COUNT]),
    ("exported", False, [TIME]),
    ("head", False, [COUNT, HASH]),
    ("event", True, [COUNT, TIME, HASH, "(-|[0-9a-f]{64})", HASH, SIGNATURE, r"(\{.*\})"]),
    ("text", True, [HASH, HASH, STRING]),
    ("photo", True, [HASH, BASE64]),
    ("program", True, [HASH, BASE64]),
    ("seal", False, [HASH, HASH, SIGNATURE]),
]


def string(text):
    value = json.loads(text)
    if not isinstance(value, str) or json.dumps(value, ensure_ascii=False) != text:
        raise Unreadable("a JSON string is not canonical")
    return value


def content(text):
    try:
        data = base64.b64decode(text, validate=True)
    except binascii.Error as error:
        raise Unreadable("base64") from error
    if base64.b64encode(data).decode() != text:
        raise Unreadable("base64 is not in its one form")
    return data


def read(data):
    """Lines by keyword, in order; the fields of each."""
    try:
        lines = data.decode("utf-8").split("\n")
    except UnicodeDecodeError as error:
        raise Unreadable("not UTF-8") from error
    if lines.pop() != "":
        raise Unreadable("the last line has no end")
    found = {keyword: [] for keyword, _, _ in FORMS}
    at = -1
    for line in lines:
        word = line.split(" ", 1)[0]
        index = next((i for i, form in enumerate(FORMS) if form[0] == word), None)
        if index is None or index < at or (index == at and not FORMS[index][1]):
            raise Unreadable("a line stands where it does not belong")
        if any(not many for _, many, _ in FORMS[at + 1 : index]):
            raise Unreadable("a line is missing")
        match = re.fullmatch(" ".join([word] + FORMS[index][2]), line, re.DOTALL)
        if match is None:
            raise Unreadable("a line has no known form")
        found[word].append(match.groups())
        at = index
    if at != len(FORMS) - 1:
        raise Unreadable("no seal")
    return found


def sha(data):
    return hashlib.sha256(data).hexdigest()


def lines_of(*parts):
    return "".join(part + "\n" for part in parts).encode()


def when(text):
    return datetime.strptime(text, "%Y-%m-%dT%H:%M:%S.%fZ")


def need(truth, what):
    if not truth:
        raise Wrong(what)


def verify_events(found, writer, job):
    key, last, last_of_job, apart, photos, programs, deleted = None, None, "0" * 64, set(), set(), set(), set()
    first_of_job = None
    for fields in found["event"]:
        sequence, at, previous, job_previous, digest, signature, text = fields
        name, number = f"event {sequence}", int(sequence)
        event = json.loads(text)
        need(sha(lines_of(writer, sequence, at, previous, job_previous, text)) == digest, f"{name}: hash")
        need(last is None or number > last[0], f"{name}: out of order")
        if last is not None and number == last[0] + 1:
            need(previous == last[1], f"{name}: does not follow")
            back = (when(last[2]) - when(at)).total_seconds()
            need(back <= 2 or event["type"] == "clock stepped", f"{name}: clock")
        need(number != 1 or previous == "0" * 64, f"{name}: first, and follows")
        if "job" in event:
            need(event["job"] == job, f"{name}: of another job")
            need(job_previous == last_of_job, f"{name}: does not follow in its job")
            last_of_job, first_of_job = digest, first_of_job or event["type"]
        else:
            need(job_previous == "-", f"{name}: of no job")
        signer = key
        if event["type"] == "key made":
            need(key is None and number == 1, f"{name}: a second first key")
            signer = key = event["publicKey"]
        elif event["type"] == "key changed":
            need(event["before"] == key, f"{name}: changes another key")
            proved = lines_of("swathplane key change", writer, event["before"], event["publicKey"])
            need(holds(event["publicKey"], proved, event["proof"]), f"{name}: proof")
            signer, key = (event["publicKey"] if event.get("lost") else key), event["publicKey"]
        need(signer is not None and holds(signer, digest.encode(), signature), f"{name}: signature")
        if isinstance(event.get("text"), dict):
            apart.add(event["text"]["apart"])
        if event["type"] == "photo attached":
            photos.add(event["sha256"])
        if event["type"] == "solver known":
            programs.add(event["sha256"])
        if event["type"] == "deleted":
            deleted.update(event["sha256s"])
        last = (number, digest, at)
    need(first_of_job == "job opened", "the job does not begin with its opening")
    return key, last, apart, photos, programs, deleted


def verify(data, fingerprint):
    found = read(data)
    writer, job = string(found["writer"][0][0]), int(found["job"][0][0])
    public, sealed, signature = found["seal"][0]
    body = data[: data.rindex(b"seal ")]
    need(sha(body) == sealed, "the seal is of other bytes")
    need(holds(public, lines_of("swathplane job export", sealed), signature), "the seal's signature")
    key, last, apart, photos, programs, deleted = verify_events(found, writer, job)
    need(public == key, "the seal is of another key")
    head, head_hash = found["head"][0]
    need(last[0] <= int(head) and (last[0] != int(head) or last[1] == head_hash), "the head")
    for digest, salt, text in found["text"]:
        need(digest in apart and digest not in deleted, "a text that belongs to no event")
        need(sha((salt + string(text)).encode()) == digest, "a text")
    for kind, named in (("photo", photos), ("program", programs)):
        for digest, text in found[kind]:
            need(digest in named and digest not in deleted, f"a {kind} that belongs to no event")
            need(sha(content(text)) == digest, f"a {kind}")
    known = sha(bytes.fromhex(key))
    need(fingerprint is None or known == fingerprint, "signed with another key")
    return f"in order: job {job} of {writer}, {len(found['event'])} events, key {known}"


def main(arguments):
    with open(arguments[0], "rb") as file:
        data = file.read()
    try:
        print(verify(data, arguments[1] if len(arguments) > 1 else None))
        return 0
    except Wrong as wrong:
        print(f"changed: {wrong}")
        return 1
    except (Unreadable, ValueError, KeyError, TypeError, AttributeError) as error:
        print(f"not an exported job: {error}")
        return 3


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
