"""Weight formulas of the child protocols against the WHO's median weight for age.

    python3 compare.py [--table]     the largest difference by age; --table prints the table that docs/clinical-sources.md holds

Outside sources: WHO Child Growth Standards 2006 (0 to 5 years) and WHO Growth Reference 2007 (5 to 10 years), the M of the
LMS tables as the package in requirements.txt ships them. The formulas are read from the protocol files, and worked out here
a second time from those alone. A formula is what was published, right or wrong: that it differs from the median is
reported, not failed. What must hold: every difference is a number, the table in the docs is this one, a median is never
doubted, and a median in pounds typed as kilograms always is.
"""

import importlib.metadata
import json
import math
import pathlib
import sys
import tomllib

ROOT = pathlib.Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs" / "clinical-sources.md"
# The standards of 2006 are one curve in two tables, which meet at 2 years; then comes the reference of 2007.
TABLES = [["who_infants", "who_children"], ["who_2007_children"]]
POUNDS_PER_KG = 1 / 0.45359237  # the international pound of 1959
LAST_MONTH = 120  # the WHO publishes no weight for age beyond 10 years
LISTED_ABOVE = 0.15


def medians():
    """Median kilograms by sex and completed months."""
    package = importlib.metadata.distribution("rcpchgrowth")
    found = {"male": {}, "female": {}}
    for names in TABLES:
        weights = []
        for name in names:
            path = package.locate_file(f"rcpchgrowth/data_tables/who/{name}.json")
            weights.append(json.loads(pathlib.Path(path).read_text())["measurement"]["weight"])
        for sex, by_month in found.items():
            points = [(row["decimal_age"] * 12, row["M"]) for weight in weights for row in weight[sex]]
            for month in range(LAST_MONTH + 1):
                kg = at(points, month)
                if kg is not None:
                    by_month.setdefault(month, kg)
    return found


def at(points, month):
    """The table at an age: a straight line between its neighbours, absent outside it."""
    for (before, low), (after, high) in zip(points, points[1:]):
        if before <= month <= after:
            return low + (high - low) * (month - before) / (after - before)
    return None


def estimate(weight, month):
    """Kilograms by the protocol's formula for completed months; absent outside the formulas."""
    for formula in weight["formulas"]:
        if formula["from_months"]["value"] <= month <= formula["through_months"]["value"]:
            steps = month // formula["step_months"]["value"]
            return formula["kg_per_step"]["value"] * steps + formula["plus_kg"]["value"]
    return None


def compare(weight, who):
    """By completed months: the estimate, both medians, and the larger difference as a part of the median."""
    rows = []
    for month in range(LAST_MONTH + 1):
        kg = estimate(weight, month)
        boys, girls = who["male"][month], who["female"][month]
        off = max((kg / median - 1 for median in (boys, girls)), key=abs)
        assert all(math.isfinite(number) and number > 0 for number in (kg, boys, girls)) and math.isfinite(off), month
        rows.append((month, kg, boys, girls, off))
    return rows


def faults(weight, rows):
    low, high = weight["plausible_low"]["value"], weight["plausible_high"]["value"]
    for month, kg, boys, girls, _ in rows:
        for median in (boys, girls):
            if not low * kg <= median <= high * kg:
                yield f"{month} months: the median, {median:.2f} kg, is doubted beside {kg} kg"
            if median * POUNDS_PER_KG <= high * kg:
                yield f"{month} months: {median * POUNDS_PER_KG:.1f} lb typed as kg is not doubted beside {kg} kg"
            if median / POUNDS_PER_KG >= low * kg:
                yield f"{month} months: {median:.2f} kg taken for pounds is not doubted beside {kg} kg"


def table(rows):
    """The largest difference in each year of age, and the months in which it passes 15 %."""
    lines = ["| age | by formula, kg | WHO median, boys, girls, kg | largest difference | months beyond 15 % |", "| --- | --- | --- | --- | --- |"]
    for year in range(LAST_MONTH // 12):
        of_year = [row for row in rows if row[0] // 12 == year]
        month, kg, boys, girls, off = max(of_year, key=lambda row: abs(row[4]))
        beyond = [row[0] for row in of_year if abs(row[4]) > LISTED_ABOVE]
        listed = f"{beyond[0]} to {beyond[-1]}" if len(beyond) > 1 else ", ".join(map(str, beyond)) or "none"
        assert beyond == list(range(beyond[0], beyond[-1] + 1)) if beyond else True, beyond
        lines.append(f"| {month} months | {kg:g} | {boys:.1f}, {girls:.1f} | {off:+.0%} | {listed} |")
    return "\n".join(lines)


def main():
    who = medians()
    wrong, tables = [], set()
    for path in sorted((ROOT / "server" / "protocols").glob("*.toml")):
        protocol = tomllib.loads(path.read_text())
        if "weight" not in protocol:
            continue
        rows = compare(protocol["weight"], who)
        wrong += [f"{path.name}: {fault}" for fault in faults(protocol["weight"], rows)]
        tables.add(table(rows))
    assert tables, "no protocol has a [weight]"
    for one in tables:
        print(one)
        if "--table" not in sys.argv and one not in DOCS.read_text():
            wrong.append(f"{DOCS.name} does not hold this table: write it there (--table prints it)")
    sys.exit("\n".join(wrong) or 0)


main()
