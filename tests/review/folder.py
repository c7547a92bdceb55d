"""A data folder with random codes in it, to export from.

The program makes the folder; the codes are written into it here, by the hash chain of docs/wire.md, and `coxswain verify`
must find every chain whole. The timelines are those of tests/oracle and tests/published: teams that forget, double and correct.
"""

import hashlib
import json
import os
import pathlib
import sqlite3
import subprocess
import sys
import uuid
from datetime import datetime, timedelta, timezone

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY = os.environ.get("COXSWAIN_BIN") or str(
    pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug" / "coxswain"
)
PROTOCOLS = {path.stem: path.read_text() for path in (ROOT / "server" / "protocols").glob("*.toml")}
FIRST_DAY = datetime(2024, 1, 3, 7, 30, tzinfo=timezone.utc)
PLACES = ["Ward 1", "Ward 2", "Emergency department", None]

sys.path += [str(ROOT / "tests" / "oracle"), str(ROOT / "tests" / "published")]
import messy  # noqa: E402
import timelines  # noqa: E402


def run(*arguments):
    """The program's output; its own words if it fails."""
    done = subprocess.run([BINARY, *arguments], capture_output=True)
    if done.returncode != 0:
        raise SystemExit(f"coxswain {' '.join(arguments)}: {done.stderr.decode().strip()}")
    return done.stdout.decode()


def identity(seed, kind, number=0):
    return str(uuid.UUID(int=(0x01980000 << 96) | (7 << 76) | (8 << 60) | (kind << 56) | (seed << 32) | number))


def team(seed):
    """A code of tests/oracle, with ids of its own."""
    records, _ = timelines.timeline(seed)
    return sorted(records, key=lambda record: record["seq"])


def soup(seed):
    """A code of tests/published/messy.py: equal times, corrections of corrections, records that repeat."""
    found = []
    for seq, number, at_ms, event in sorted(messy.timeline(seed)):
        event = dict(event)
        if "target" in event:
            event["target"] = f"{event['target']:012}"
        found.append({"seq": seq, "id": f"{number:012}", "at_ms": at_ms, "event": event})
    return found


def settled(seed, records):
    """As a server would have it: an opening that stands, records in order, ids and times filled in."""
    opened = next((record for record in records if record["event"]["kind"] == "code_opened"), None)
    if opened is None:
        return None
    corrected = {record["event"].get("target") for record in records}
    if opened["id"] in corrected:
        return None
    if seed % 4 and not any(record["event"]["kind"] == "code_closed" for record in records):
        at_ms = max(record.get("received_ms", record["at_ms"]) for record in records) + 1_000
        outcome = ["died", "survived_event", "not_an_arrest"][seed % 3]
        records.append({"id": "closing", "at_ms": at_ms, "event": {"kind": "code_closed", "outcome": outcome}})
    training = seed % 5 == 0
    opened["event"] = opened["event"] | {"training": training}
    if PLACES[seed % len(PLACES)]:
        opened["event"]["location"] = PLACES[seed % len(PLACES)]
    began = FIRST_DAY + timedelta(days=2 * seed, minutes=seed % 600)
    names = {}
    for record in records:
        names.setdefault(record["id"], identity(seed, 2, len(names) + 1))
    whole = []
    for place, record in enumerate(records):
        event = dict(record["event"])
        if "target" in event:
            event["target"] = names.get(event["target"], identity(seed, 3, 1))
        received_ms = record.get("received_ms", record["at_ms"])
        whole.append({
            "at_ms": record["at_ms"], "by": {"device": identity(0, 4, seed % 5), "name": f"Bay {seed % 5}", "roles": ["recorder"]},
            "code": identity(seed, 1), "event": event, "id": names[record["id"]], "received_ms": received_ms,
            "recorded_at": moment(began + timedelta(milliseconds=received_ms)), "seq": place + 1,
            "source": "live" if received_ms == record["at_ms"] else "late",
        })  # fmt: skip
    return moment(began), whole


def moment(at):
    return at.strftime("%Y-%m-%dT%H:%M:%S.") + f"{at.microsecond // 1000:03}Z"


def canonical(record):
    """Keys in order, no white space, whole numbers without a fraction: the text that the chain runs over."""
    return json.dumps(record, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def fill(data, seeds):
    """Writes a code a seed, of either kind in turn; how many were written."""
    run("device", "add", "--name", "Bay 0", "--data", str(data))
    written = 0
    with sqlite3.connect(data / "coxswain.sqlite") as ledger:
        for seed in seeds:
            code = settled(seed, team(seed) if seed % 2 else soup(seed))
            if code is not None:
                write(ledger, *code)
                written += 1
    return written


def put(data, path):
    """Writes a code that was kept in a file: a record a line as exported, then what became of its prompts."""
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    records = [line for line in lines if "prompt" not in line]
    with sqlite3.connect(data / "coxswain.sqlite") as ledger:
        place = write(ledger, records[0]["recorded_at"], records)
        for prompt in (line["prompt"] for line in lines if "prompt" in line):
            values = [json.dumps(value) if isinstance(value, list) else value for value in prompt.values()]
            ledger.execute(
                f"INSERT INTO prompt_log (code, {', '.join(prompt)}) VALUES (?{', ?' * len(values)})", (place, *values)
            )


def write(ledger, opened_at, records):
    """A code that is over, with its chain and its protocols; its place in the ledger."""
    opening = records[0]
    # Over, each of them: a server that starts here must not run any of them on.
    place = ledger.execute(
        "INSERT INTO code (id, location, opened_at, epoch_ms, closed) VALUES (?, ?, ?, 0, 1)",
        (opening["code"], opening["event"].get("location"), opened_at),
    ).lastrowid
    for name in sorted({name for record in records for name in protocols(record["event"])}):
        ledger.execute("INSERT INTO code_protocol (code, id, version, text) VALUES (?, ?, 1, ?)", (place, name, PROTOCOLS[name]))
    head = bytes(32)
    for record in records:
        text = canonical(record)
        head = hashlib.sha256(head + text.encode()).digest()
        ledger.execute(
            "INSERT INTO record (code, seq, text, hash) VALUES (?, ?, ?, ?)", (place, record["seq"], text, head)
        )
    return place


def protocols(event):
    """Ids of the protocols that an event names."""
    if "protocol" in event:
        yield event["protocol"]["id"]
    if isinstance(event.get("event"), dict):
        yield from protocols(event["event"])
