"""Words that mean the same on the deck; static/js/bench/speech.js holds the same lists.

The first of a list stands for all of them. Endings need no entry of their own.
"""

from __future__ import annotations

# Said around what is meant; a term need not have them.
FILLERS = frozenset(
    """
    a all an and are as at be been by come comes do does for from get gets go goes going has
    have he her him his i in is it its just like much my of off on or our she should so still
    that the their them they this to too very was way when while with you your
    """.split()  # noqa: SIM905 - a list of a hundred strings is no longer read
)

ALIKE: tuple[tuple[str, ...], ...] = (
    ("hip", "bum", "butt", "bottom", "backside", "seat", "rear"),
    ("belly", "tummy", "stomach"),
    ("foot", "feet"),
    ("head", "face", "forehead"),
    ("look", "eye", "gaze", "stare", "peek", "search"),
    ("kick", "beat"),
    ("flutter", "alternate", "alternating"),
    ("apart", "open", "spread", "split", "separate"),
    ("big", "huge", "large", "massive"),
    ("low", "sink", "drop", "droop", "sag", "collapse", "hang", "fall", "sunk"),
    ("up", "lift", "raise", "rise", "climb", "high", "tall", "pop"),
    ("late", "delay", "after"),
    ("early", "soon", "before", "premature"),
    ("fast", "quick", "rush", "hurry", "hectic", "hasty", "frantic", "spin"),
    ("slow", "sluggish", "lazy"),
    ("stop", "pause", "wait", "rest", "park", "stall", "stuck", "standstill", "halt", "linger"),
    ("glide", "coast", "float", "drift"),
    ("breath", "breathe", "inhale", "air"),
    ("bubble", "exhale", "blow"),
    ("roll", "rotate", "rotation", "twist", "tip"),
    ("flip", "tumble", "somersault"),
    ("wall", "gutter", "edge"),
    ("under", "underwater", "submerged", "beneath"),
    ("streamline", "line", "arrow", "torpedo", "pencil", "rocket"),
    ("start", "dive"),
    ("signal", "gun", "beep", "whistle", "tone", "flash", "horn"),
    ("uneven", "wonky", "lopsided", "different", "alike", "crooked", "unequal", "even", "equal"),
    ("snake", "zigzag", "weave", "wriggle", "sway"),
    ("rock", "wobble", "shake", "bob", "nod", "move"),
    ("wave", "undulate", "undulation", "wiggle", "ripple"),
    ("cross", "crossover", "crisscross"),
    ("finish", "end", "complete"),
    ("touch", "tap"),
    ("two", "double", "twice", "second"),
    (
        *("no", "not", "never", "without", "missing", "lack", "none", "forget", "forgot", "dont"),
        *("doesnt", "isnt", "arent", "cant", "wont", "didnt", "nothing", "hardly"),
    ),
    ("narrow", "close", "tight"),
    ("wide", "broad", "outside"),
    ("bent", "bend", "fold"),
    ("forward", "ahead", "front"),
    ("rope", "lane"),
    ("short", "small", "little", "tiny"),
    ("weak", "feeble", "soft", "powerless"),
    ("slap", "splash", "smack", "flop", "spray"),
    ("bicycle", "bike", "pedal"),
    ("relay", "takeover", "changeover", "exchange", "handover"),
    ("rate", "tempo", "turnover", "cadence", "rhythm"),
    ("steep", "upright", "vertical", "stand"),
    ("push", "shove"),
    ("dolphin", "mermaid", "flykick"),
    ("floor", "ground"),
    ("chest", "body", "trunk", "torso"),
    ("surface", "top"),
    ("sit", "chair"),
    ("middle", "centre", "center", "midline"),
    ("tired", "die", "dies", "fade", "fatigue"),
    ("keep", "stay", "remain"),
    ("press", "squash"),
    ("squeeze", "snap", "clap", "shut", "together"),
)
