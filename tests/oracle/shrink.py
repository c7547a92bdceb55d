"""Makes a timeline on which the two planners differ as short as it goes, and tells it."""

import compare
import engine


def shrunk(records, difference, protocols):
    """Records left out one at a time, as long as a difference of the same kind stays at that moment."""

    def still_differs(fewer):
        found = at_one_moment(fewer, difference.at_ms, protocols)
        return any(other.role == difference.role and other.kind == difference.kind for other in found)

    records, smaller = list(records), True
    while smaller:
        smaller = False
        for place in range(len(records) - 1, -1, -1):
            fewer = records[:place] + records[place + 1 :]
            if records[place]["event"]["kind"] != "code_opened" and still_differs(fewer):
                records, smaller = fewer, True
    return records


def at_one_moment(records, at_ms, protocols):
    try:
        screens = compare.engine_screens(engine.replay(records, [at_ms], compare.ROLES))
    except engine.ReplayRefused:
        return []
    return compare.differences(records, screens, protocols)


def told(records, difference, protocols):
    """The timeline and the difference, in lines to read."""
    lines = [told_record(record) for record in sorted(records, key=lambda record: record["seq"])]
    lines.append(f"    the {difference.role} screen at {difference.at_ms / 1000:g} s:")
    found = [other for other in at_one_moment(records, difference.at_ms, protocols) if other.role == difference.role]
    return "\n".join(lines + told_difference(*found[:1] or [difference]))


def told_record(record):
    event = dict(record["event"])
    kind = event.pop("kind")
    event.pop("training", None)
    heard = "" if record["received_ms"] == record["at_ms"] else f" (heard at {record['received_ms'] / 1000:g} s)"
    return f"    {record['seq']:>3}. {record['at_ms'] / 1000:g} s{heard}: {kind} {event or ''}"


def told_difference(difference):
    if difference.kind and difference.kind[0].startswith("engine"):
        return told_prompts("engine", difference.engine) + told_prompts("oracle", difference.oracle)
    return [
        f"      {theirs['action']} {theirs['drug'] or ''} {name}: engine {theirs[name]}, oracle {ours[name]}"
        for theirs, ours in zip(difference.engine, difference.oracle)
        for name in theirs
        if theirs[name] != ours[name]
    ]


def told_prompts(side, prompts):
    if not prompts:
        return [f"      {side}: nothing"]
    return [
        f"      {side}: { {name: value for name, value in found.items() if value is not None} }" for found in prompts
    ]
