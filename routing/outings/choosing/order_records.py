"""What the answer to an outing says about the order and split of its errands."""

from routing.paths.answers.results import Result

__all__ = ["ErrandRow", "OrderChoice"]


class ErrandRow(Result):
    """One errand: who does it, as how-manieth of its pool."""

    id: str
    name: str = ""
    pool: int
    """Errands of the same pool stand in a row in the plan; counted from 1."""
    person: str
    place: int
    """Among the errands that this person does of the pool; counted from 1."""
    planned_person: str
    """Who does it in the plan as it stands."""
    planned_place: int
    acts: tuple[str, ...]


class OrderChoice(Result):
    """The order and split of errands that make the outing shortest."""

    changed: bool
    total_before_s: float | None = None
    """As the plan stands; none where that is not clean, or a way is missing."""
    total_s: float | None = None
    """None where no arrangement is clean."""
    at_least_s: float | None = None
    """No arrangement that is clean is shorter."""
    proven: bool
    opened: int
    """Beginnings of arrangements that were bounded."""
    plans: int
    """Arrangements that were really planned."""
    rows: tuple[ErrandRow, ...]
    reason: str = ""
    """Why nothing was looked for, where that is so."""
