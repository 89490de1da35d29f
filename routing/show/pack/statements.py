"""What can be said of every answer: its use, what it assumes, what speaks for it.

Keep these true: they are read by those who sign.
"""

from typing import Final

__all__ = [
    "ASSUMED",
    "HISTORY",
    "LEFT_TO_PROGRAMME",
    "NOT_CHECKED",
    "UNCERTAIN",
    "USE_LIMITS",
    "VALIDATED",
    "VERIFIED",
]

USE_LIMITS: Final = (
    (
        "A planning aid for routes and timelines outside. It is not certified for flight, and "
        "no answer replaces flight rules, hardware certification data or qualified staff."
    ),
    (
        "An answer holds for the files named below with their digests, and for the limits "
        "listed, and for nothing else."
    ),
)
ASSUMED: Final = (
    (
        "People hold sampled grips, at most one grip spacing apart; arms are a reach, the "
        "body is a ball of one radius; suits, boots and loads are not modelled beyond that."
    ),
    ("A safety line lies where the person went, and gets shorter only by going back along it."),
    (
        "A staged tether is used once; a tether point takes any number of hooks; one whose "
        "rating is low or not known is no stay."
    ),
    "Solids are cylinders, cones, spheres, boxes and extruded polygons.",
    ("A carried item adds to the corridor radius; reach and rate with a load follow from factors."),
    "Whatever a condition closes at any time of the plan is closed all the time.",
    "On a way a condition counts unless the order of acts makes certain that it is over.",
    (
        "Acts begin as early as they can and take their usual minutes; ways take the time "
        "that the router finds."
    ),
)
NOT_CHECKED: Final = (
    (
        "Loads on handrails, tether points and restraints beyond the ratings given; hardware "
        "that is worn, hot, cold, sharp or live beyond what zones and conditions say."
    ),
    (
        "How a partner who is on the way is fetched home, how two get into the hatch, and where "
        "the two safety lines lie to each other meanwhile."
    ),
    ("Light, communication, thermal state, consumables beyond the clock, workload and fatigue."),
    "Whether the structure's document agrees with the hardware as it is today.",
)
VERIFIED: Final = (
    (
        "Searches are compared with exhaustive search on small cases, with other libraries on "
        "large ones, and with published constrained-path instances; geometry with closed "
        "forms, sampling and other libraries; the books of an outing with a replay that "
        "shares no code with them. The tests come with the source of this version and are run "
        "before every change."
    ),
)
VALIDATED: Final = (
    (
        "None. No answer has been compared with a pool run, with a flown outing, or with "
        "measured times of suited people."
    ),
)
UNCERTAIN: Final = (
    (
        "Clearances are lower bounds, at most 1 mm below the true value; ways round edges are "
        "upper bounds; payouts are those of the line as laid."
    ),
    (
        "Rates, reach and allowances are single numbers. Times spread only as far as the plan "
        "gives low and high minutes; ways are taken as the router says."
    ),
)
HISTORY: Final = ("No record of use is kept with this pack.",)
LEFT_TO_PROGRAMME: Final = (
    (
        "How critical the decision is that rests on this plan, the risk of relying on it, and the "
        "qualifications and independence of those who make, use and review the model: nothing of "
        "this is assessed or kept here."
    ),
)
