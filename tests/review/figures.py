"""Every figure of a code, worked out by pandas from the exported rows of its events.

Written from docs/measures.md and docs/exports.md alone: nothing is taken from the engine, nor from the other second
implementation (tests/published/oracle_measure.py), which reads JSON Lines and applies the corrections itself.
"""

import json
import math

import numpy
import pandas

ADVANCED = {"supraglottic", "tracheal", "front_of_neck"}
EPINEPHRINE = {"epinephrine", "adrenaline"}
TEXTS = ["kind", "standing", "reason", "by", "rhythm", "drug", "route", "form", "airway", "details", "id", "target"]


def read(path):
    """The rows of an event CSV."""
    return pandas.read_csv(path, dtype={name: str for name in TEXTS}, keep_default_na=False, na_values={"at_ms": [""]})


def counting(rows):
    """The rows of one code that count, in order."""
    found = rows[rows["standing"] == "counts"].sort_values(["at_ms", "seq"], kind="stable").reset_index(drop=True)
    last = found.index[found["kind"] == "code_closed"]
    return found.loc[: last[0]] if len(last) else found


def number(value):
    return None if value is None or pandas.isna(value) else int(value)


def part(a, b):
    return float(a) / float(b) if b > 0 else None


def arrests(rows):
    """From recognition (or arrest again) to circulation, closing or the last row."""
    found, start, began = [], None, False
    for place, kind, at_ms in rows[["kind", "at_ms"]].itertuples():
        begins = kind == "arrest_again" or (kind == "clock_started" and not began)
        began |= kind == "clock_started"
        if begins and start is None:
            start = (place, at_ms)
        elif kind in ("rosc", "code_closed") and start is not None:
            found.append((*start, place, at_ms, "rosc" if kind == "rosc" else "closed"))
            start = None
    if start is not None:
        found.append((*start, len(rows), rows["at_ms"].iloc[-1], "closed"))
    return pandas.DataFrame(found, columns=["from_row", "from_ms", "to_row", "to_ms", "ended_by"])


def stretches(rows, arrest):
    """Compressions within each arrest: cut to its beginning, ended by a stop or by its end."""
    ends = set(arrest["to_row"])
    found, running = [], None
    for place, kind, at_ms, by, reason in rows[["kind", "at_ms", "by", "reason"]].itertuples():
        if kind == "compressions_started" and running is None:
            running = (place, at_ms, by)
        elif running is not None and (kind == "compressions_stopped" or place in ends):
            found.append((*running, place, at_ms, reason if kind == "compressions_stopped" else None))
            running = None
    if running is not None:
        found.append((*running, len(rows), rows["at_ms"].iloc[-1], None))
    every = pandas.DataFrame(found, columns=["from_row", "from_ms", "by", "to_row", "to_ms", "reason"])
    within = []
    for number_, one in arrest.iterrows():
        inside = every[(every["to_row"] > one["from_row"]) & (every["from_row"] < one["to_row"])].copy()
        inside["from_ms"] = inside["from_ms"].clip(lower=one["from_ms"])
        within.append(inside.assign(arrest=number_))
    cut = pandas.concat(within, ignore_index=True) if within else every.assign(arrest=0).iloc[:0]
    return every, cut


def pauses(arrest, cut):
    found = []
    for number_, one in arrest.iterrows():
        inside = cut[cut["arrest"] == number_]
        starts = list(inside["from_ms"].iloc[1:]) + [one["to_ms"]]
        for place, (end_ms, reason, resumed_ms) in enumerate(zip(inside["to_ms"], inside["reason"], starts)):
            last = place == len(inside) - 1
            if reason is not None and not pandas.isna(reason) and resumed_ms > end_ms:
                found.append((number_, end_ms, resumed_ms, reason, one["ended_by"] if last else "resumed"))
    return pandas.DataFrame(found, columns=["arrest", "start_ms", "end_ms", "reason", "ended_by"])


def holder(pause, at_ms):
    """The place of the pause that holds a moment, the later of two that touch."""
    held = numpy.flatnonzero((pause["start_ms"].to_numpy() <= at_ms) & (at_ms <= pause["end_ms"].to_numpy()))
    return held[-1] if len(held) else None


def compressed(cut, from_ms, to_ms):
    return int((cut["to_ms"].clip(upper=to_ms) - cut["from_ms"].clip(lower=from_ms)).clip(lower=0).sum())


def arrest_at(arrest, row):
    inside = numpy.flatnonzero((arrest["from_row"].to_numpy() < row) & (row < arrest["to_row"].to_numpy()))
    return inside[0] if len(inside) else None


def shocks(rows, arrest, every, pause):
    found = []
    for row, at_ms, energy_j in rows.loc[rows["kind"] == "shock_delivered", ["at_ms", "energy_j"]].itertuples():
        under = every[(every["from_row"] < row) & (row < every["to_row"])]
        place = holder(pause, at_ms)
        pre = post = None
        if (under["by"] == "mechanical").any():
            pre = post = 0
        elif place is not None:
            pre = at_ms - pause.at[place, "start_ms"]
            post = pause.at[place, "end_ms"] - at_ms if pause.at[place, "ended_by"] == "resumed" else None
        peri = None if pre is None or post is None else pre + post
        found.append((row, at_ms, energy_j, arrest_at(arrest, row), pre, post, peri, (under["by"] == "mechanical").any()))
    return found


def charging(rows, arrest, shock):
    """(from, to) of the charge of each shock in an arrest: the last one since the shock before that nothing cancelled."""
    found = []
    for row, at_ms, _, within, *_ in shock:
        if within is None:
            continue
        back = rows.loc[int(arrest.at[within, "from_row"]) + 1 : row - 1]
        cancelled = back.index[back["kind"].isin(["shock_delivered", "charge_dumped", "shock_aborted"])]
        since = back.loc[cancelled[-1] + 1 :] if len(cancelled) else back
        begun = since.index[since["kind"] == "charging_started"]
        if len(begun):
            clear = since.loc[begun[-1] :]
            clear = clear.loc[clear["kind"] == "all_clear_called", "at_ms"]
            found.append((since.at[begun[-1], "at_ms"], clear.iloc[0] if len(clear) else at_ms))
    return found


def told_before(rows):
    """What prior care reports, in order: (row, report)."""
    for row, kind, details in rows[["kind", "details"]].itertuples():
        fields = json.loads(details) if details else {}
        report = fields.get("prior_care") if kind == "code_opened" else fields if kind == "prior_care_reported" else None
        if report:
            yield row, report


def epinephrine(rows, arrest):
    """Times of the boluses into a vein or bone, by arrest."""
    given = rows[
        (rows["kind"] == "drug_given")
        & rows["drug"].str.lower().isin(EPINEPHRINE)
        & rows["route"].isin(["iv", "io"])
        & (rows["form"] == "bolus")
    ]
    by_arrest = {number_: [] for number_ in arrest.index}
    for row, at_ms in given["at_ms"].items():
        if (within := arrest_at(arrest, row)) is not None:
            by_arrest[within].append(at_ms)
    return by_arrest


def intervals(rows, by_arrest):
    last_ms = doses = None
    for _, report in told_before(rows):
        last_ms = report.get("last_epinephrine_at_ms", last_ms)
        doses = report.get("epinephrine_doses", doses)
    found = []
    for number_, times in by_arrest.items():
        before = [last_ms] if number_ == 0 and last_ms is not None and doses != 0 else []
        found += pandas.Series(before + times, dtype="int64").diff().dropna().astype(int).tolist()
    return found


def check_intervals(rows, arrest, cut, pause):
    looks = rows.loc[rows["kind"].isin(["rhythm_checked", "shock_delivered"]), "at_ms"]
    held = {holder(pause, at_ms) for at_ms in looks}
    found = []
    for number_ in arrest.index:
        inside = cut[cut["arrest"] == number_]
        if inside.empty:
            continue
        since_ms = inside["from_ms"].iloc[0]
        for place, one in pause[pause["arrest"] == number_].iterrows():
            check = one["reason"] == "rhythm_check"
            if check:
                found.append(int(one["start_ms"] - since_ms))
            if check or place in held:
                since_ms = one["end_ms"]
    return found


def spells(rows, arrest, cut):
    found = []
    for number_, one in arrest.iterrows():
        inside = cut[cut["arrest"] == number_]
        if inside.empty:
            continue
        first_ms = inside["from_ms"].iloc[0]
        between = rows.loc[int(one["from_row"]) + 1 : int(one["to_row"]) - 1]
        changes = between.loc[(between["kind"] == "compressor_changed") & (between["at_ms"] > first_ms), "at_ms"]
        cuts = pandas.Series([first_ms, *changes, one["to_ms"]]).diff().dropna()
        found += cuts[cuts > 0].astype(int).tolist()
    return found


def running_up_to(rows, spans):
    """Of each row: whether one of the spans from row to row has begun before it and goes on at least up to it."""
    found = numpy.zeros(len(rows) + 1, dtype=bool)
    for from_row, to_row in zip(spans["from_row"], spans["to_row"]):
        found[int(from_row) + 1 : int(to_row) + 1] = True
    return found[: len(rows)]


def breaths(rows, arrest, every, protocol):
    """Pauses for breaths that nobody taps: an estimate over compressions by hand without an advanced airway."""
    reports = dict(told_before(rows))
    airways, bagged = set(), []
    for row, kind, airway in rows[["kind", "airway"]].itertuples():
        bagged.append(not airways)
        if kind == "airway_placed" and airway in ADVANCED:
            airways.add(airway)
        elif kind == "airway_removed":
            airways.discard(airway)
        if reports.get(row, {}).get("airway") in ADVANCED:
            airways.add(reports[row]["airway"])
    by_hand = running_up_to(rows, every[every["by"] == "manual"]) & running_up_to(rows, arrest) & numpy.array(bagged)
    bagged_ms = int(rows["at_ms"].diff()[by_hand].sum())
    gap_s = protocol["cycle"]["breath_gap_s"]["value"]
    set_s = protocol["airway"]["ratio_compressions"]["value"] * 60 / protocol["cycle"]["compressions_per_minute"]["value"]
    return math.floor(bagged_ms * gap_s / (set_s + gap_s) + 0.5)


def gaps(rows, all_rows, arrest, cut, pause, shock):
    found = [
        (int(at_ms), "shock_without_pause")
        for _, at_ms, _, within, *_, mechanical in shock
        if within is not None and not mechanical and holder(pause, at_ms) is None
    ]
    reports, access = dict(told_before(rows)), set()
    for row, kind, at_ms, route in rows[["kind", "at_ms", "route"]].itertuples():
        if kind == "access_gained":
            access.add(route)
        elif kind == "access_lost":
            access.discard(route)
        elif kind == "drug_given" and route in ("iv", "io") and not access:
            found.append((at_ms, "drug_without_access"))
        if report := reports.get(row, {}).get("access"):
            access.add(report)
    looks = {holder(pause, at_ms) for at_ms in rows.loc[rows["kind"] == "rhythm_checked", "at_ms"]}
    checks = pause[pause["reason"] == "rhythm_check"]
    found += [(one["start_ms"], "check_without_rhythm") for place, one in checks.iterrows() if place not in looks]
    silent = (rows["at_ms"].diff() > 180_000) & running_up_to(rows, arrest)
    found += [(rows.at[row - 1, "at_ms"], "silence") for row in silent.index[silent]]
    for number_, one in arrest.iterrows():
        inside = cut[cut["arrest"] == number_]
        first_ms = inside["from_ms"].iloc[0] if len(inside) else one["to_ms"]
        if first_ms - one["from_ms"] >= 30_000:
            found.append((one["from_ms"], "no_compressions"))
    corrections = all_rows[(all_rows["standing"] == "correction") & ~all_rows["target"].isin(all_rows["id"])]
    corrections = corrections.drop_duplicates("id")
    found += [(at_ms, "waiting_target") for at_ms in corrections["at_ms"]]
    return sorted((int(at_ms), what) for at_ms, what in found)


def figures(all_rows, protocol):
    """Every figure, by the names of docs/measures.md."""
    rows = counting(all_rows)
    arrest = arrests(rows)
    every, cut = stretches(rows, arrest)
    pause = pauses(arrest, cut)
    shock = shocks(rows, arrest, every, pause)
    length_ms = pause["end_ms"] - pause["start_ms"]
    arrest_ms = int((arrest["to_ms"] - arrest["from_ms"]).sum())
    firsts = cut.groupby("arrest")["from_ms"].first()
    no_flow_ms = int((firsts.reindex(arrest.index).fillna(arrest["to_ms"]) - arrest["from_ms"]).sum())
    low_flow_ms = arrest_ms - no_flow_ms
    compressed_ms = int((cut["to_ms"] - cut["from_ms"]).sum())
    charges = charging(rows, arrest, shock)
    clock = rows.loc[rows["kind"] == "clock_started", "at_ms"]
    fingers = rows.loc[rows["kind"] == "pulse_finger_placed", "at_ms"]
    checks = pause.loc[pause["reason"] == "rhythm_check", "start_ms"]
    ready = sum(fingers.between(start_ms - 30_000, start_ms).any() for start_ms in checks)
    doses = epinephrine(rows, arrest)
    rosc = arrest.loc[arrest["ended_by"] == "rosc", "to_ms"]
    rhythm = rows.loc[rows["kind"] == "rhythm_checked", "rhythm"]

    def since(times):
        times = list(times)
        return int(times[0] - clock.iloc[0]) if times and len(clock) else None

    return {
        "arrest_ms": arrest_ms,
        "compression_fraction": part(compressed_ms, arrest_ms),
        "no_flow_ms": no_flow_ms,
        "low_flow_ms": low_flow_ms,
        "compression_fraction_from_first": part(compressed_ms, low_flow_ms),
        "pauses": [
            {"start_ms": int(one.start_ms), "end_ms": int(one.end_ms), "reason": one.reason, "ended_by": one.ended_by}
            for one in pause.itertuples()
        ],
        "pauses_over_10_s": int((length_ms > 10_000).sum()),
        "longest_pause_ms": number(length_ms.max()) if len(pause) else None,
        "shocks": [
            {
                "at_ms": int(at_ms), "energy_j": float(energy_j), "pre_shock_ms": number(pre), "post_shock_ms": number(post),
                "peri_shock_ms": number(peri),
            }
            for _, at_ms, energy_j, _, pre, post, peri, _ in shock
        ],
        "charging_compression_fraction": part(
            sum(compressed(cut, from_ms, to_ms) for from_ms, to_ms in charges), sum(to - begun for begun, to in charges)
        ),
        "first_rhythm": rhythm.iloc[0] if len(rhythm) else None,
        "first_compression_ms": since(firsts),
        "first_shock_ms": since(at_ms for _, at_ms, *_ in shock),
        "first_epinephrine_ms": since(at_ms for times in doses.values() for at_ms in times),
        "first_access_ms": since(rows.loc[rows["kind"] == "access_gained", "at_ms"]),
        "first_advanced_airway_ms": since(
            rows.loc[(rows["kind"] == "airway_placed") & rows["airway"].isin(ADVANCED), "at_ms"]
        ),
        "epinephrine_intervals_ms": intervals(rows, doses),
        "check_intervals_ms": check_intervals(rows, arrest, cut, pause),
        "compressor_spells_ms": spells(rows, arrest, cut),
        "finger_ready_fraction": part(ready, len(checks)),
        "rosc_ms": since(rosc),
        "rosc_count": len(rosc),
        "breath_pauses_estimate_ms": breaths(rows, arrest, every, protocol),
        "gaps": gaps(rows, all_rows, arrest, cut, pause, shock),
    }  # fmt: skip
