"""Exports beside libraries that know nothing of this project.

    python3 check.py [--seed 1] [--count 330]

pandas works out every figure from the exported events and must find those of the exported codes; fhir.resources reads the
Bundles; scipy and pandas stand beside the shares, quartiles and control charts of the trends. Exits 1 on a difference, or if a
planted fault is not found. COXSWAIN_BIN names another program than target/debug/coxswain.
"""

import argparse
import json
import math
import pathlib
import sqlite3
import subprocess
import sys
import tempfile
import tomllib

import pandas

import bundle
import figures
import folder
import served
import trends

LISTS = ["pauses", "shocks", "gaps", "epinephrine_intervals_ms", "check_intervals_ms", "compressor_spells_ms"]
SHOWN = 5
# So many codes are tried with a fault planted in them, and so many are read as Bundles.
PLANTED = 30
BUNDLES = 30


def exported(data, style, *more):
    """An export of every code, to a file and to stdout: the same bytes."""
    path = data / f"{style}{'-hidden' if more else ''}.out"
    folder.run("export", "--all", "--format", style, "--data", str(data), "-o", str(path), *more)
    text = folder.run("export", "--all", "--format", style, "--data", str(data), *more)
    if path.read_bytes() != text.encode():
        sys.exit(f"{style}: the file and stdout differ")
    left = [other.name for other in data.glob(".*.partial")]
    if left:
        sys.exit(f"{style}: {left} was left behind")
    return path


def told(row, name):
    """A figure as the exported code has it."""
    value = row[name]
    if name == "gaps":
        return sorted((gap["at_ms"], gap["what"]) for gap in json.loads(value))
    if name in LISTS:
        return json.loads(value)
    if name == "first_rhythm":
        return value or None
    return None if value == "" else float(value)


def same(ours, theirs):
    if isinstance(ours, (int, float)) and isinstance(theirs, (int, float)):
        return math.isclose(ours, theirs, rel_tol=1e-12, abs_tol=1e-12)
    return ours == theirs


def differences(events, codes, protocols):
    """(code, figure, by pandas, exported) of each that differs."""
    for code, rows in events.groupby("code", sort=False):
        row = codes.loc[code]
        found = figures.figures(rows, protocols[row["protocol"]])
        for name, value in found.items():
            if not same(value, told(row, name)):
                yield code, name, value, told(row, name)


def without_some(events):
    """The same rows with the first stop of each code left out: the figures must differ then."""
    stops = events[(events["kind"] == "compressions_stopped") & (events["standing"] == "counts")]
    return events.drop(stops.drop_duplicates("code").index)


def check_figures(data, problems):
    events = figures.read(exported(data, "csv"))
    codes = pandas.read_csv(exported(data, "csv-codes"), dtype=str, keep_default_na=False).set_index("code")
    protocols = {name: tomllib.loads(text) for name, text in folder.PROTOCOLS.items()}
    found = list(differences(events, codes, protocols))
    for code, name, by_pandas, told_ in found[:SHOWN]:
        print(f"code {code}, {name}: pandas finds {by_pandas}, the export says {told_}")
    problems += [f"{len(found)} figures differ"] if found else []
    some = events[events["code"].isin(codes.index[:PLANTED])]
    planted = {code for code, *_ in differences(without_some(some), codes, protocols)}
    if len(planted) < PLANTED / 3:
        problems.append(f"with stops left out only {len(planted)} of {PLANTED} codes differ: the check does not look")
    # De-identified, every figure is the same; the gaps name drugs, and the codes stand in another order.
    hidden = pandas.read_csv(exported(data, "csv-codes", "--deidentified"), dtype=str, keep_default_na=False)
    whole = [name for name in codes.columns[codes.columns.get_loc("arrest_ms") :] if name != "gaps"]
    if sorted(map(tuple, hidden[whole].values)) != sorted(map(tuple, codes[whole].values)):
        problems.append("de-identified codes have other figures")
    if list(hidden["arrest_ms"]) == list(codes["arrest_ms"]):
        problems.append("de-identified codes stand in the order in which they were opened")
    print(f"{len(codes)} codes, {len(events)} events: every figure by pandas too")
    return events


def check_bundles(data, events, problems):
    for code, rows in list(events.groupby("code", sort=False))[:BUNDLES]:
        for more in ([], ["--deidentified"]):
            text = folder.run("export", code, "--format", "fhir", "--data", str(data), *more)
            problems += [f"code {code} {' '.join(more)}: {fault}" for fault in bundle.faults(text, rows, bool(more))]
    problems += bundle.planted(text)
    whole = json.loads(exported(data, "fhir").read_text())
    problems += [f"all codes: {fault}" for fault in bundle.unresolved(whole)]
    many = events["code"].nunique()
    print(f"{BUNDLES} Bundles parse in fhir.resources, twice each; one of all {many} codes has {len(whole['entry'])} entries")


def check_lines(data, problems):
    """JSON Lines: a day to begin from, and de-identified lines that the program measures."""
    lines = exported(data, "jsonl").read_text().splitlines()
    since = folder.run("export", "--all", "--since", "2024-03-01", "--format", "jsonl", "--data", str(data)).splitlines()
    later = [line for line in lines if opened_at(lines, json.loads(line)["code"]) >= "2024-03-01"]
    if since != later or not 0 < len(since) < len(lines):
        problems.append("--since does not choose by the day of opening")
    hidden = exported(data, "jsonl", "--deidentified").read_text()
    if told_ := bundle.TELLING.search(hidden):
        problems.append(f"de-identified JSON Lines tell `{told_.group()}`")
    ids = {json.loads(line)["id"] for line in lines}
    if ids & {json.loads(line)["id"] for line in hidden.splitlines()}:
        problems.append("de-identified records have ids of the record")


def check_served(data, events, problems):
    """Trends, and the bytes of exports over HTTP."""
    codes = pandas.read_csv(data / "csv-codes.out", dtype=str, keep_default_na=False).set_index("code")
    codes = trends.prepared(codes, trends.opened_in(events))
    real, drills = codes[codes["training"] == "false"], codes[codes["training"] == "true"]
    with served.reviewer(data) as asking:
        first, second = asking.trends(location="Ward 1", than_location="Ward 2")["sides"]
        sides = [
            (real, asking.trends()["sides"][0]),
            (drills, asking.trends(training="true")["sides"][0]),
            (real[real["location"] == "Ward 1"], first),
            (real[real["location"] == "Ward 2"], second),
        ]
        for chosen, side in sides:
            problems += [f"trends of {side['filter']}: {fault}" for fault in trends.faults(chosen, side["trends"])]
        for style in ("jsonl", "csv", "csv-codes", "fhir"):
            for hidden in ("false", "true"):
                more = ["--deidentified"] if hidden == "true" else []
                many = folder.run("export", "--all", "--since", "2024-03-01", "--format", style, "--data", str(data), *more)
                same = asking.get("/api/review/export", format=style, since="2024-03-01", deidentified=hidden) == many.encode()
                code = codes.index[0]
                one = folder.run("export", code, "--format", style, "--data", str(data), *more).encode()
                same &= asking.get(f"/api/review/codes/{code}/export", format=style, deidentified=hidden) == one
                if not same:
                    problems.append(f"{style}, deidentified {hidden}: the page and the command line give other bytes")
        # A planted fault: one code less must show.
        if not list(trends.faults(real.iloc[1:], sides[0][1]["trends"])) or not list(trends.value_faults(
            real.assign(longest_pause_ms="1"), [month["month"] for month in sides[0][1]["trends"]["months"]],
            next(value for value in sides[0][1]["trends"]["values"] if value["name"] == "longest_pause_ms"),
        )):  # fmt: skip
            problems.append("a fault planted in the trends is not found: the check does not look")
    print(f"trends of {len(real)} real codes, {len(drills)} drills and two places side by side, by pandas and scipy too")


def check_half(data, problems):
    """An export that fails on the way leaves what stood there, and nothing beside it."""
    with sqlite3.connect(data / "coxswain.sqlite") as ledger:
        ledger.execute("DROP TRIGGER record_is_never_edited")
        (last,) = ledger.execute("SELECT MAX(place) FROM record").fetchone()
        ledger.execute("UPDATE record SET text = replace(text, '\"kind\":', '\"kin\":') WHERE place = ?", (last,))
    place = data / "kept.csv"
    place.write_text("what stood there")
    command = [folder.BINARY, "export", "--all", "--format", "csv", "--data", str(data), "-o", str(place)]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode != 1 or "event.kind: is missing" not in done.stderr:
        problems.append(f"an export of a broken record ends with {done.returncode}: {done.stderr.strip()}")
    if place.read_text() != "what stood there" or list(data.glob(".*.partial")):
        problems.append("an export that failed left something behind")


OPENED = {}


def opened_at(lines, code):
    if not OPENED:
        for line in lines:
            record = json.loads(line)
            if record["seq"] == 1:
                at = folder.datetime.fromisoformat(record["recorded_at"])
                OPENED[record["code"]] = folder.moment(at - folder.timedelta(milliseconds=record["received_ms"]))
    return OPENED[code]


def main():
    parser = argparse.ArgumentParser(description="Check exports and trends beside pandas, fhir.resources and scipy.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=330)
    chosen = parser.parse_args()
    problems = []
    with tempfile.TemporaryDirectory(prefix="coxswain-review-") as folder_:
        data = pathlib.Path(folder_)
        folder.fill(data, range(chosen.seed, chosen.seed + chosen.count))
        folder.run("verify", "--data", str(data))
        events = check_figures(data, problems)
        check_bundles(data, events, problems)
        check_lines(data, problems)
        check_served(data, events, problems)
        check_half(data, problems)
    for problem in problems[:20]:
        print(problem, file=sys.stderr)
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
