"""A prompt as the comparison sees it."""


def prompt(action, show_ms, due_ms, late_ms=None, assumed=False, **detail):
    return {
        "action": action,
        "show_at_ms": show_ms,
        "due_at_ms": due_ms,
        "late_at_ms": late_ms,
        "assumed": assumed,
        **detail,
    }


def soonest_first(prompts):
    return sorted(prompts, key=lambda found: found["due_at_ms"])
