"""How to confirm a fault, as plain data: the steps with what each place reads if it is that fault, and if not."""

from shouldread.repair import Confirmation
from shouldread.views.words import State


def confirmation_state(told: Confirmation) -> State:
    """The steps for the page, in order; a caution is said once."""
    said: set[str] = set()
    steps: list[State] = []
    for step in told.steps:
        places = dict.fromkeys([*step.if_right, *step.if_wrong])
        reads = [
            {
                "place": place,
                "right": step.if_right[place].words if place in step.if_right else "",
                "wrong": step.if_wrong[place].words if place in step.if_wrong else "",
            }
            for place in places
        ]
        fresh = [caution for caution in step.cautions if caution not in said]
        steps.append({"action": step.action, "caution": "; ".join(fresh), "reads": reads})
        said.update(fresh)
    otherwise = f" Else it may be: {', '.join(told.otherwise)}." if told.otherwise else ""
    why = f"Why did it fail? {told.why_failed}{otherwise}"
    return {"fault": told.fault, "steps": steps, "so_far": told.so_far, "why": why}
