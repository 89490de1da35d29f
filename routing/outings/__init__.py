"""Outings: the plan file, the timeline, and the bookkeeping of items and tethers.

``records`` and ``reader`` read the plan; ``activity_plan`` and ``network`` order it;
``translations`` routes every way of every person; ``schedule`` puts it on the clock;
``custody`` replays where every item is; ``plan`` does all of it and gives the answer.
"""
