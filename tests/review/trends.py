"""Trends of a served folder, worked out again from the exported codes: pandas for quartiles, scipy for Wilson's interval, numpy
for the limits. Written from docs/trends.md and docs/measures.md alone; `faults` names each number that differs.
"""

import json
import math

import numpy
import pandas
from scipy import stats

SHOCKABLE, FLAT = {"vf", "pulseless_vt"}, {"asystole", "pea"}


def opened_in(events):
    """Month of each code's opening."""
    first = events[events["seq"] == 1].set_index("code")
    return first["recorded_at"].str[:7]


def prepared(codes, months):
    """Exported codes with their figures as numbers and lists, and the month of their opening."""
    found = codes.join(months.rename("month"))
    for name in ("pauses", "shocks", "epinephrine_intervals_ms", "check_intervals_ms", "compressor_spells_ms"):
        found[name] = found[name].map(json.loads)
    return found[(found["closed"] == "true") & (found["outcome"] != "not_an_arrest")]


def one(name, applies=lambda row: True):
    return lambda row: None if not applies(row) else [] if row[name] == "" else [float(row[name])]


def many(name):
    return lambda row: [float(value) for value in row[name]]


def of_shocks(name):
    return lambda row: [float(shock[name]) for shock in row["shocks"] if shock[name] is not None]


def lengths(row):
    return [float(pause["end_ms"] - pause["start_ms"]) for pause in row["pauses"]]


VALUES = {
    "compression_fraction": one("compression_fraction"),
    "compression_fraction_from_first": one("compression_fraction_from_first"),
    "pauses_ms": lengths,
    "pauses_over_10_s": one("pauses_over_10_s", lambda row: row["compression_fraction_from_first"] != ""),
    "longest_pause_ms": one("longest_pause_ms"),
    "pre_shock_ms": of_shocks("pre_shock_ms"),
    "post_shock_ms": of_shocks("post_shock_ms"),
    "peri_shock_ms": of_shocks("peri_shock_ms"),
    "first_shock_ms": one("first_shock_ms", lambda row: row["first_rhythm"] in SHOCKABLE),
    "first_epinephrine_ms": one("first_epinephrine_ms", lambda row: row["first_rhythm"] in FLAT),
    "first_compression_ms": one("first_compression_ms"),
    "first_access_ms": one("first_access_ms"),
    "first_advanced_airway_ms": one("first_advanced_airway_ms"),
    "epinephrine_intervals_ms": many("epinephrine_intervals_ms"),
    "check_intervals_ms": many("check_intervals_ms"),
    "compressor_spells_ms": many("compressor_spells_ms"),
    "charging_compression_fraction": one("charging_compression_fraction"),
    "finger_ready_fraction": one("finger_ready_fraction"),
    "rosc_ms": one("rosc_ms"),
}
# Targets by docs/measures.md: whose moments, and which of them meet it. Charging is not among them: its moments are not exported.
TARGETS = {
    "compression_fraction": ("compression_fraction", lambda value: value >= 0.6),
    "compression_fraction_goal": ("compression_fraction", lambda value: value > 0.8),
    "pauses": ("pauses_ms", lambda value: value <= 10_000),
    "pre_shock_pauses": ("pre_shock_ms", lambda value: value < 10_000),
    "peri_shock_pauses": ("peri_shock_ms", lambda value: value < 20_000),
    "first_shock": ("first_shock_ms", lambda value: value <= 120_000),
    "first_epinephrine": ("first_epinephrine_ms", lambda value: value <= 300_000),
    "epinephrine_intervals": ("epinephrine_intervals_ms", lambda value: 180_000 <= value <= 300_000),
}


def same(ours, theirs):
    if isinstance(theirs, (int, float)) and not isinstance(theirs, bool):
        return ours is not None and math.isclose(ours, theirs, rel_tol=1e-9, abs_tol=1e-9)
    return ours == theirs


def of_each(codes, name):
    """A figure's values in each code: a list, or None where it does not apply."""
    return pandas.Series([VALUES[name](row) for _, row in codes.iterrows()], index=codes.index, dtype=object)


def quartiles(values):
    if not values:
        return None
    lower, median, upper = pandas.Series(values).quantile([0.25, 0.5, 0.75])
    return {"n": len(values), "lower": lower, "median": median, "upper": upper, "few": len(values) < 10}


def individuals(medians, low, high):
    """Centre, limits and mean moving range of an individuals chart."""
    if len(medians) < 2:
        return None
    spread_of_ranges = numpy.abs(numpy.diff(medians)).mean()
    centre, spread = numpy.mean(medians), 3 * spread_of_ranges / 1.128
    return {
        "centre": centre, "lower": max(low, centre - spread), "upper": min(high, centre + spread), "mean_range": spread_of_ranges,
        "range_upper": 3.267 * spread_of_ranges,
    }  # fmt: skip


def share(hits, of):
    if of == 0:
        return None
    interval = stats.binomtest(hits, of).proportion_ci(0.95, "wilson")
    return {"hits": hits, "of": of, "fraction": hits / of, "lower": interval.low, "upper": interval.high, "few": of < 10}


def signals(values, limits, centre):
    """Of each point: beyond a limit, and in a run of eight on one side."""
    sides = pandas.Series(numpy.sign(numpy.array(values) - centre))
    runs = sides.groupby((sides != sides.shift()).cumsum()).transform("size")
    return [
        ["beyond_limit"] * (not lower <= value <= upper) + ["run"] * bool(side and run >= 8)
        for value, (lower, upper), side, run in zip(values, limits, sides, runs)
    ]


def differing(where, ours, theirs):
    """Names of the numbers that differ, of two flat records."""
    if ours is None or theirs is None:
        if ours is not theirs:
            yield f"{where}: {ours} by the libraries, {theirs} served"
        return
    for name, value in ours.items():
        if not same(value, theirs[name]):
            yield f"{where}, {name}: {value} by the libraries, {theirs[name]} served"


def flat(served):
    """A served share or chart with its interval or limits beside the rest."""
    if served is None:
        return None
    return served | served.get("interval", {}) | (served.get("limits") or {})


def value_faults(codes, months, served):
    name = served["name"]
    told = of_each(codes, name).dropna()
    without = int((told.map(len) == 0).sum())
    if without != served["without"]:
        yield f"{name}: {without} codes without, {served['without']} served"
    yield from differing(name, quartiles([value for list_ in told for value in list_]), served["overall"])
    by_month = {month: quartiles([value for list_ in told[codes.loc[told.index, "month"] == month] for value in list_]) for month in months}
    for month, theirs in zip(months, served["by_month"], strict=True):
        yield from differing(f"{name} in {month}", by_month[month], theirs)
    medians = [found["median"] for found in by_month.values() if found]
    bounds = {"fraction": (0, 1), "count": (0, math.inf), "ms": (-math.inf, math.inf)}[served["unit"]]
    chart = individuals(medians, *bounds)
    theirs = served["chart"]
    yield from differing(f"{name}, chart", chart, theirs and flat(theirs["chart"]))
    if chart and theirs:
        limits = [(chart["lower"], chart["upper"])] * len(medians)
        marked = [point["signals"] for point in theirs["chart"]["points"]]
        if signals(medians, limits, chart["centre"]) != marked:
            yield f"{name}: other points are marked"


def target_faults(codes, served):
    of, meets = TARGETS[served["name"]]
    told = of_each(codes, of).map(lambda values: values or [])
    counts = pandas.DataFrame({"month": codes["month"], "of": told.map(len), "hits": told.map(lambda values: sum(map(meets, values)))})
    hits, total = int(counts["hits"].sum()), int(counts["of"].sum())
    yield from differing(served["name"], share(hits, total), flat(served["overall"]))
    by_month = counts.groupby("month")[["hits", "of"]].sum()
    by_month = by_month[by_month["of"] > 0]
    if not total:
        return
    chart, centre = served["chart"]["chart"], hits / total
    if list(by_month.index) != served["chart"]["months"] or not same(centre, chart["centre"]):
        yield f"{served['name']}: other months or another centre"
        return
    spread = 3 * numpy.sqrt(centre * (1 - centre) / by_month["of"])
    limits = list(zip((centre - spread).clip(lower=0), (centre + spread).clip(upper=1)))
    for month, point, (lower, upper) in zip(by_month.index, chart["points"], limits):
        ours = share(int(by_month.at[month, "hits"]), int(by_month.at[month, "of"]))
        yield from differing(f"{served['name']} in {month}", ours, point | point["interval"])
        yield from differing(f"{served['name']} in {month}, limits", {"lower": lower, "upper": upper}, point["limits"])
    marked = [point["signals"] for point in chart["points"]]
    if signals(list(by_month["hits"] / by_month["of"]), limits, centre) != marked:
        yield f"{served['name']}: other points are marked"


def faults(codes, served):
    """What differs between a side of the trends and the codes that it should be made of."""
    if len(codes) != served["codes"]:
        yield f"{len(codes)} codes by the export, {served['codes']} served"
        return
    counts = codes["month"].value_counts()
    months = [month["month"] for month in served["months"]]
    spanned = pandas.period_range(counts.index.min(), counts.index.max(), freq="M").astype(str) if len(counts) else []
    if list(spanned) != months or [int(counts.get(month, 0)) for month in months] != [one["codes"] for one in served["months"]]:
        yield "the months, or their codes, are others"
        return
    for value in served["values"]:
        yield from value_faults(codes, months, value)
    for target in served["targets"]:
        if target["name"] in TARGETS:
            yield from target_faults(codes, target)
