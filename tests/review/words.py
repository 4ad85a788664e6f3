"""A few words of the squad, loaded by hand where the whole catalogue would only be in the way."""

from __future__ import annotations

from dataclasses import dataclass

from portal.technique.models import Caution, Checkpoint, Drill, Fault, Rule


@dataclass(frozen=True)
class Words:
    heels: Checkpoint
    feet: Fault
    """Heels stop half way: no rule."""
    dolphins: Fault
    """Two dolphin kicks: has a rule."""
    hands: Drill


def learn() -> Words:
    knee = Caution.objects.create(slug="knee", name="Knee", text="Inner knee sore? No kick today.")
    hands = Drill.objects.create(
        slug="heels-to-hands",
        name="Heels to the hands",
        strokes=" breast ",
        phase="kick",
        how="Touch the heels with the hands on every kick.",
        dose="4 x 25",
    )
    hands.cautions.add(knee)
    heels = Checkpoint.objects.create(
        slug="heels-close",
        name="Heels close to the hips",
        strokes=" breast ",
        phase="kick",
        good="The heels come up to the hips before the feet turn out.",
    )
    line = Checkpoint.objects.create(
        slug="one-dolphin",
        name="One dolphin kick at most",
        strokes=" breast ",
        phase="pullout",
        good="One dolphin kick in the pullout, then the breaststroke kick.",
    )
    feet = Fault.objects.create(
        slug="feet-low",
        name="Feet not brought up to the hips",
        strokes=" breast ",
        phase="kick",
        checkpoint=heels,
        severity="major",
        views=" side-underwater ",
        see="The heels stop half way.",
        cost="A short push and more strokes.",
        cue="Heels to the hips, then kick.",
        cue_young="Feet up like a frog.",
    )
    feet.drills.add(hands)
    rule = Rule.objects.create(
        slug="one-dolphin-kick",
        name="One dolphin kick in the pullout",
        strokes=" breast ",
        phase="pullout",
        paraphrase="One dolphin kick is allowed before the first breaststroke kick.",
        seen_when_broken="The feet beat down twice.",
        citations=[{"book": "Rule book", "article": "7.1", "edition": "2025", "certainty": "high"}],
    )
    dolphins = Fault.objects.create(
        slug="two-dolphins",
        name="Two dolphin kicks",
        strokes=" breast ",
        phase="pullout",
        checkpoint=line,
        severity="major",
        views=" side-underwater ",
        see="The feet beat down twice.",
        cost="Disqualification.",
        cue="One and go.",
        cue_young="Only one.",
    )
    dolphins.rules.add(rule)
    return Words(heels=heels, feet=feet, dolphins=dolphins, hands=hands)
