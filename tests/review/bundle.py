"""The exported FHIR Bundles, read by a library that knows the standard's resources: they parse, and all references resolve.

Outside source: fhir.resources (PyPI) in its R4 form, whose resources were generated from the definitions of FHIR 4.0.1. The
codes that may stand in them are those of docs/exports.md.
"""

import collections
import json
import re

from fhir.resources.bundle import Bundle
from pydantic import ValidationError

CODES = {
    "http://snomed.info/sct": {
        "89666000", "426220008", "112798008", "71908006", "405806007", "426975008", "397829000",
    },
    "http://loinc.org": {"8884-9", "19889-5", "8480-6", "8462-4", "59408-5", "8310-5", "29463-7"},
    "http://www.nlm.nih.gov/research/umls/rxnorm": {"3992", "6387", "703"},
    "http://terminology.hl7.org/CodeSystem/v3-ActCode": {"EMER"},
}  # fmt: skip
OURS = "urn:uuid:6f1d3c1e-7a52-8c0e-9b61-2f0a4f5e8d10"
TELLING = re.compile(r"20\d\d-\d\d-\d\d|Ward|Emergency department|Bay ")


def every(value, name):
    """Every value of a field, however deep."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == name:
                yield inner
            yield from every(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from every(inner, name)


def faults(text, rows, deidentified):
    """What is wrong with a Bundle; `rows` are the exported rows of the events of its codes."""
    bundle = json.loads(text)
    yield from misread(bundle)
    urls = [entry["fullUrl"] for entry in bundle["entry"]]
    known, resources = set(urls), [entry["resource"] for entry in bundle["entry"]]
    if len(known) != len(urls):
        yield "two entries have one fullUrl"
    yield from unresolved(bundle)
    for coding in every(bundle, "coding"):
        for one in coding:
            if one["system"] != OURS and one["code"] not in CODES.get(one["system"], ()):
                yield f"{one['system']} {one['code']} is no code that docs/exports.md lists"
    if deidentified and (told := TELLING.search(text)):
        yield f"a de-identified Bundle tells `{told.group()}`"
    yield from counts(resources, rows)
    yield from drills(bundle["entry"], rows)


def misread(bundle):
    """What the library refuses."""
    try:
        Bundle.parse_obj(bundle)
    except ValidationError as refusal:
        yield f"the Bundle does not parse: {refusal}"


def unresolved(bundle):
    """References to what is not in the Bundle."""
    known = {entry["fullUrl"] for entry in bundle["entry"]}
    lost = [reference for reference in every(bundle, "reference") if reference not in known]
    if lost:
        yield f"{len(lost)} references resolve to nothing, such as {lost[0]}"


def planted(text):
    """Which planted faults are not found: a field by its R5 name, a reference to a resource that is not there."""
    renamed = json.loads(text.replace('"effectiveDateTime":', '"occurenceDateTime":'))
    if not list(misread(renamed)):
        yield "a Bundle with a name of R5 parses: the check does not look"
    short = json.loads(text)
    del short["entry"][0]
    if not list(unresolved(short)):
        yield "a Bundle without its first resource has every reference: the check does not look"


def counts(resources, rows):
    """As many of each kind as there are rows that count, and as many errors as were voided."""
    found = collections.Counter()
    for resource in resources:
        kind, status = resource["resourceType"], resource.get("status")
        if kind == "Procedure" and resource["code"]["text"] != "Defibrillation":
            continue
        found[kind, status] += 1
    for kind, event in (("MedicationAdministration", "drug_given"), ("Procedure", "shock_delivered")):
        for status, standing in (("completed", "counts"), ("entered-in-error", "voided")):
            # Of an amended fact the row has what it is now; a voided one is counted once, however often it repeats.
            wanted = rows[(rows["kind"] == event) & (rows["standing"] == standing)].drop_duplicates(["code", "id"])
            if found[kind, status] != len(wanted):
                yield f"{found[kind, status]} {kind} are {status}, and {len(wanted)} rows of {event}"


def drills(entries, rows):
    """A drill has a manikin and no patient, and says so in every resource."""
    opened = rows[(rows["kind"] == "code_opened") & (rows["standing"] == "counts")]
    drill = opened["details"].map(lambda details: json.loads(details)["training"])
    kinds = collections.Counter(entry["resource"]["resourceType"] for entry in entries)
    if kinds["Patient"] != (~drill).sum() or kinds["Group"] != drill.sum():
        yield f"{kinds['Patient']} patients and {kinds['Group']} manikins for {len(drill)} codes, {drill.sum()} of them drills"
    tagged = {entry["fullUrl"] for entry in entries if "meta" in entry["resource"]}
    for entry in entries:
        subject = entry["resource"].get("subject", {}).get("reference")
        if subject is not None and (subject in tagged) != (entry["fullUrl"] in tagged):
            yield "a resource is tagged otherwise than its subject"
