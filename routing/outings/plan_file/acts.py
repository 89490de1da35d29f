"""The kinds of act there are, what each is called and which keys it needs.

An act is one thing that one person does (or two people do together), or an
action inside or on the ground that others wait for.
"""

from typing import Final, Literal, NamedTuple, TypeAlias

ActKind: TypeAlias = Literal[
    "move",
    "carry",
    "fetch",
    "put",
    "set-up",
    "get-in",
    "get-out",
    "tie",
    "cinch",
    "release",
    "work",
    "photograph",
    "lay-cable",
    "hold-still",
    "wait",
    "action",
]

Support: TypeAlias = Literal["inside", "ground"]

OFF_STRUCTURE: Final[tuple[Support, ...]] = ("inside", "ground")
"""Who acts without being outside; an outing may not give these names to people."""


class ActRule(NamedTuple):
    """What one kind of act is and needs."""

    words: str
    """How a run sheet says it."""
    needs: tuple[str, ...] = ()
    """Keys without which it says nothing."""
    takes: tuple[str, ...] = ()
    """Keys that it may have besides those of every act."""
    timed: bool = True
    """Whether it takes minutes of its own."""


ACT_RULES: Final[dict[ActKind, ActRule]] = {
    "move": ActRule("go to", needs=("at",), takes=("via",), timed=False),
    "carry": ActRule("carry", needs=("item", "at"), takes=("via",), timed=False),
    "fetch": ActRule("fetch", needs=("item",), takes=("at", "out_of", "hung", "via")),
    "put": ActRule("put", needs=("item",), takes=("at", "into", "via")),
    "set-up": ActRule("set up", needs=("item", "at"), takes=("via",)),
    "get-in": ActRule("get into", needs=("item",), takes=("at", "via")),
    "get-out": ActRule("get out of", needs=("item",)),
    "tie": ActRule("tie", needs=("item", "using"), takes=("at", "attach", "via")),
    "cinch": ActRule("cinch home", needs=("item",), takes=("at", "via")),
    "release": ActRule("untie", needs=("item", "using"), takes=("at", "via")),
    "work": ActRule("work", takes=("at", "using", "via")),
    "photograph": ActRule("photograph", needs=("subject", "using"), takes=("at", "via")),
    "lay-cable": ActRule("lay cable", needs=("item", "at", "to"), takes=("via", "using", "plugs")),
    "hold-still": ActRule("hold still", takes=("at", "via")),
    "wait": ActRule("wait", takes=("at", "via"), timed=False),
    "action": ActRule("action", takes=("lets_go", "holds", "sets", "clears")),
}
"""Every kind of act, in the order in which they are explained."""
