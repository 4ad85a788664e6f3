"""What happens in the demo club: invented people, what was filmed, and what was said of it.

A moment is named by an event of the footage's truth file, so that what is said is what is seen.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from portal.items.models import Verdict
from portal.people.models import Course, Membership
from portal.recordings.models import Effort, Session, View
from portal.technique.models import Stroke

CLUB = "Otterbrook Swimming Club"
SHORT_POOL, LONG_POOL = "Quay Street Baths", "Weir Park"
POOLS = {SHORT_POOL: Course.SHORT, LONG_POOL: Course.LONG}
JUNIORS, YOUTH = "Juniors", "Youth"
Role = Membership.Role
GOOD, WORK_ON, NOT_LEGAL = Verdict.GOOD, Verdict.WORK_ON, Verdict.NOT_LEGAL


def address_of(name: str, *, place: str) -> str:
    """In a domain that never exists."""
    return f"{name.lower().replace(' ', '.')}@{place}.example"


@dataclass(frozen=True)
class Adult:
    name: str
    role: Role | None = None
    squads: tuple[str, ...] = ()

    @property
    def address(self) -> str:
        return address_of(self.name, place="otterbrook")


HEAD_COACH = Adult("Greta Holm", Role.HEAD_COACH)
COACH = Adult("Marta Lind", Role.COACH, (JUNIORS, YOUTH))
ASSISTANT = Adult("Dov Merrin", Role.ASSISTANT, (JUNIORS, YOUTH))
WELFARE = Adult("Wanda Okoro", Role.WELFARE)
# They read every published word in their squad, so that no adult speaks to a child alone.
SECOND_ADULTS = {JUNIORS: Adult("Tom Varga"), YOUTH: Adult("Priya Nair")}
STAFF = (HEAD_COACH, COACH, ASSISTANT, WELFARE, *SECOND_ADULTS.values())


class Answers(StrEnum):
    """What a guardian answers to the questions before filming."""

    ALL_YES = "yes to everything"
    NO_MAIL_STILLS = "no pictures in mail"
    NO_FILM = "no filming"


@dataclass(frozen=True)
class Child:
    name: str
    squad: str
    age: int
    guardians: dict[str, Answers]
    has_account: bool = False


SWIMMERS = (
    Child("Jonas Falk", JUNIORS, 11, {"Ada Falk": Answers.ALL_YES}),
    Child("Noor Haan", JUNIORS, 11, {"Samir Haan": Answers.ALL_YES}),
    Child("Kenji Mori", JUNIORS, 11, {"Yuki Mori": Answers.ALL_YES}),
    Child("Mateo Rivas", JUNIORS, 11, {"Lucia Rivas": Answers.ALL_YES}),
    Child("Elif Aydin", JUNIORS, 11, {"Deniz Aydin": Answers.NO_MAIL_STILLS}),
    Child("Sanne Vos", JUNIORS, 11, {"Pieter Vos": Answers.ALL_YES}),
    Child("Freya Dahl", JUNIORS, 11, {"Lars Dahl": Answers.NO_FILM}),
    # Two households that disagree about pictures in mail.
    Child(
        "Ines Falk",
        YOUTH,
        14,
        {"Ada Falk": Answers.ALL_YES, "Bela Korda": Answers.NO_MAIL_STILLS},
        has_account=True,
    ),
    Child("Tomasz Wilk", YOUTH, 14, {"Ewa Wilk": Answers.ALL_YES}, has_account=True),
    Child("Amara Obi", YOUTH, 14, {"Chidi Obi": Answers.ALL_YES}, has_account=True),
)


@dataclass(frozen=True)
class Remark:
    """A comment at the `turn`-th time that `event` happens in the piece of footage."""

    event: str
    turn: int
    verdict: Verdict
    tag: str
    words: str
    cue: str = ""
    drill: str = ""
    dose: str = ""
    is_focus: bool = False


@dataclass(frozen=True)
class Piece:
    """One swimmer's part of a recording: footage, and which of its frames are kept as a clip."""

    footage: str
    swimmer: str
    first: int
    last: int
    stroke: Stroke = Stroke.BREAST
    effort: Effort = Effort.PRACTICE
    by: Adult = COACH
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True)
class Take:
    """One recording. Its file is the footage of `pieces`, then of `unsorted`, end to end."""

    name: str
    view: View
    pieces: tuple[Piece, ...] = ()
    unsorted: tuple[str, ...] = ()

    @property
    def footage(self) -> list[str]:
        return [*(piece.footage for piece in self.pieces), *self.unsorted]


@dataclass(frozen=True)
class Practice:
    squad: str
    days_ago: int
    theme: str
    pool: str = SHORT_POOL
    kind: Session.Kind = Session.Kind.PRACTICE
    takes: tuple[Take, ...] = ()
    published: frozenset[str] = field(default_factory=frozenset)
    """Names of the swimmers whose review goes out."""


SESSIONS = (
    Practice(
        JUNIORS,
        days_ago=19,
        theme="breaststroke, turns, a little freestyle",
        published=frozenset(
            {"Jonas Falk", "Noor Haan", "Kenji Mori", "Mateo Rivas", "Elif Aydin", "Sanne Vos"}
        ),
        takes=(
            Take(
                "lane 3 all six.mp4",
                View.SIDE_UNDER,
                pieces=(
                    Piece(
                        "breast-side-2",
                        "Jonas Falk",
                        first=20,
                        last=150,
                        remarks=(
                            Remark(
                                "legs in",
                                1,
                                GOOD,
                                "breast-squeeze-finish",
                                "Your legs snap shut here and your toes point back. That is the "
                                "end every kick should have.",
                            ),
                            Remark(
                                "arms long",
                                2,
                                WORK_ON,
                                "breast-heels-low",
                                "Your arms are already long and your heels are only half way up, "
                                "so the kick is short. Bring both heels right up behind you "
                                "first; then you have the whole way to push.",
                                cue="Tickle your bottom with your heels.",
                                drill="breast-kick-hands-hips",
                                dose="6 x 25, twice this week",
                                is_focus=True,
                            ),
                            Remark(
                                "hands in",
                                2,
                                GOOD,
                                "breast-elbows-forward",
                                "Your elbows stay in front of your shoulders the whole time. You "
                                "never pull too far back.",
                            ),
                            Remark(
                                "shoot",
                                3,
                                WORK_ON,
                                "breast-late-breath",
                                "Your hands are on their way forward and your head is still at "
                                "its highest, so the kick has to push a steep body. Breathe "
                                "while the hands turn in, and you can lie flat for the kick.",
                                cue="Open, breathe, shoot.",
                                drill="breast-separate-kick-pull",
                                dose="4 x 25",
                            ),
                        ),
                    ),
                    Piece(
                        "breast-side-1",
                        "Noor Haan",
                        first=10,
                        last=150,
                        remarks=(
                            Remark(
                                "hands in",
                                1,
                                GOOD,
                                "breast-early-breath",
                                "You breathe while your hands come in, and your face is back in "
                                "the water before the kick. Just right.",
                            ),
                            Remark(
                                "arms long",
                                2,
                                GOOD,
                                "breast-heels-high",
                                "Both heels are close to your hips before the kick starts, and "
                                "your thighs hardly move.",
                            ),
                            Remark(
                                "glide",
                                2,
                                GOOD,
                                "breast-line-after-kick",
                                "Long arms, head between them, legs shut: you keep sliding here "
                                "while doing nothing at all.",
                            ),
                        ),
                    ),
                    Piece(
                        "turn-2",
                        "Kenji Mori",
                        first=8,
                        last=185,
                        effort=Effort.RACE,
                        remarks=(
                            Remark(
                                "touch",
                                1,
                                NOT_LEGAL,
                                "touch-one-hand",
                                "One hand is on the wall and the other is still under you. In a "
                                "race both have to touch at the same moment. Nearly everybody "
                                "has to learn this one.",
                                cue="Give the wall a high ten.",
                                drill="two-hand-touch-reps",
                                dose="8 touches before each set",
                                is_focus=True,
                            ),
                            Remark(
                                "toes off",
                                1,
                                NOT_LEGAL,
                                "open-turn-leaves-on-back",
                                "Your toes leave the wall while your belly looks up. Get onto "
                                "your side first, push, and then roll down.",
                                cue="Belly button to the bottom.",
                                drill="open-turn-land",
                                dose="10 turns",
                            ),
                            Remark(
                                "line end",
                                1,
                                GOOD,
                                "streamline-tight",
                                "Hands on top of each other, arms over the ears, toes long: a "
                                "really straight line.",
                            ),
                            Remark(
                                "dk end",
                                1,
                                GOOD,
                                "pullout-one-small-dolphin",
                                "One small kick, and you are straight again at once.",
                            ),
                        ),
                    ),
                    Piece(
                        "turn-1",
                        "Mateo Rivas",
                        first=8,
                        last=215,
                        effort=Effort.RACE,
                        remarks=(
                            Remark(
                                "touch",
                                1,
                                GOOD,
                                "touch-both-hands",
                                "Both hands reach the wall together and you are stretched right "
                                "out. Exactly so.",
                            ),
                            Remark(
                                "line end",
                                1,
                                GOOD,
                                "pullout-patient-line",
                                "Look how far you have come without moving anything. You waited "
                                "until the line was used up.",
                            ),
                            Remark(
                                "hands chest",
                                1,
                                GOOD,
                                "pullout-slim-return",
                                "Your hands come back close under your body, elbows in. The "
                                "water hardly notices.",
                            ),
                        ),
                    ),
                    Piece(
                        "free-2",
                        "Elif Aydin",
                        first=30,
                        last=150,
                        stroke=Stroke.FREE,
                        remarks=(
                            Remark(
                                "left catch",
                                2,
                                WORK_ON,
                                "free-dropped-elbow",
                                "Here your elbow slides back before your hand has turned down, "
                                "so the water slips past your arm. Keep the elbow near the "
                                "surface and let the fingers sink first.",
                                cue="Reach over a barrel.",
                                drill="scull-front",
                                dose="4 x 25",
                                is_focus=True,
                            ),
                            Remark(
                                "right entry",
                                2,
                                GOOD,
                                "free-even-roll",
                                "You roll to both sides, and your shoulders and hips go "
                                "together. Keep that.",
                            ),
                            Remark(
                                "left catch",
                                3,
                                WORK_ON,
                                "free-head-lifted",
                                "Your eyes look to the far wall, and that lets your legs hang a "
                                "little. Look at the black line under you.",
                                cue="Watch the black line.",
                                drill="snorkel-free",
                                dose="4 x 50",
                            ),
                        ),
                    ),
                    Piece(
                        "free-1",
                        "Sanne Vos",
                        first=30,
                        last=150,
                        stroke=Stroke.FREE,
                        remarks=(
                            Remark(
                                "left catch",
                                2,
                                GOOD,
                                "free-high-elbow-catch",
                                "Fingers down, elbow up: your whole forearm holds the water.",
                            ),
                            Remark(
                                "right entry",
                                2,
                                GOOD,
                                "free-head-neutral",
                                "Your head lies in the water and your eyes look down, so your "
                                "legs stay up by themselves.",
                            ),
                        ),
                    ),
                ),
            ),
        ),
    ),
    Practice(
        YOUTH,
        days_ago=10,
        theme="100 breaststroke, knees and walls",
        pool=LONG_POOL,
        kind=Session.Kind.TIME_TRIAL,
        published=frozenset({"Ines Falk", "Tomasz Wilk"}),
        takes=(
            Take(
                "front, first two.mp4",
                View.FRONT_UNDER,
                pieces=(
                    Piece(
                        "breast-front-2",
                        "Ines Falk",
                        first=0,
                        last=120,
                        effort=Effort.RACE,
                        remarks=(
                            Remark(
                                "insweep",
                                1,
                                GOOD,
                                "breast-even-arms",
                                "From the front your arms are mirror images, at race pace and "
                                "on every stroke.",
                            ),
                            Remark(
                                "whip",
                                2,
                                WORK_ON,
                                "breast-knees-wide",
                                "When the kick begins, your knees are far outside your hips. The "
                                "thighs brake, and the inside of the knee takes the load. Keep "
                                "the knees about hip-wide and let only the feet go wide. "
                                "Watch the clip once slowly and tell me what you see.",
                                cue="Knees narrow, feet wide.",
                                drill="breast-kick-buoy-knees",
                                dose="4 x 25, easy, three times this week",
                                is_focus=True,
                            ),
                            Remark(
                                "glide",
                                2,
                                GOOD,
                                "breast-line-after-kick",
                                "You go flat and narrow after the kick: from the front there is "
                                "hardly anything left to see.",
                            ),
                        ),
                    ),
                    Piece(
                        "breast-front-1",
                        "Tomasz Wilk",
                        first=0,
                        last=120,
                        effort=Effort.RACE,
                        remarks=(
                            Remark(
                                "whip",
                                2,
                                GOOD,
                                "breast-narrow-knees",
                                "Knees just outside the hips and feet well outside the knees. "
                                "You have worked on this for weeks, and here it is at race pace.",
                            ),
                            Remark(
                                "catch",
                                2,
                                GOOD,
                                "breast-even-arms",
                                "Left and right hand do the same thing at the same moment.",
                            ),
                        ),
                    ),
                ),
            ),
            Take(
                "wall camera.mp4",
                View.SIDE_UNDER,
                pieces=(
                    Piece(
                        "turn-2",
                        "Amara Obi",
                        first=8,
                        last=185,
                        effort=Effort.RACE,
                        by=ASSISTANT,
                        remarks=(
                            Remark(
                                "dk end",
                                1,
                                GOOD,
                                "pullout-one-small-dolphin",
                                "One compact kick, then straight.",
                            ),
                            Remark(
                                "hands chest",
                                1,
                                WORK_ON,
                                "pullout-wide-return",
                                "Your hands come forward far below your chest and you slow down "
                                "a lot just there. Slide them up along your body.",
                                cue="Thumbs up the middle, elbows in.",
                                drill="pullout-hands-close",
                                is_focus=True,
                            ),
                        ),
                    ),
                ),
            ),
        ),
    ),
    Practice(
        JUNIORS,
        days_ago=3,
        theme="heels and turns again",
        published=frozenset({"Jonas Falk"}),
        takes=(
            Take(
                "lane 2 again.mp4",
                View.SIDE_UNDER,
                pieces=(
                    Piece(
                        "breast-side-1",
                        "Jonas Falk",
                        first=10,
                        last=130,
                        remarks=(
                            Remark(
                                "arms long",
                                2,
                                GOOD,
                                "breast-heels-high",
                                "Two weeks ago your heels stopped half way. Look at them now: "
                                "close to your hips, both of them, before the kick starts.",
                            ),
                            Remark(
                                "hands in",
                                2,
                                GOOD,
                                "breast-early-breath",
                                "You breathe with the hands coming in now, so you lie flat for "
                                "the kick. Both things we asked for, in one length.",
                            ),
                        ),
                    ),
                    Piece(
                        "turn-1",
                        "Kenji Mori",
                        first=8,
                        last=185,
                        effort=Effort.RACE,
                        by=ASSISTANT,
                        remarks=(
                            Remark(
                                "touch",
                                1,
                                GOOD,
                                "touch-both-hands",
                                "Both hands, same moment, arms long. That is the turn we wanted.",
                            ),
                            Remark(
                                "toes off",
                                1,
                                GOOD,
                                "open-turn-on-side",
                                "You leave the wall on your side now, and roll down as you go.",
                            ),
                        ),
                    ),
                    Piece("free-1", "Elif Aydin", first=30, last=120, stroke=Stroke.FREE),
                ),
            ),
            Take(
                "lane 4 not sorted.mp4",
                View.SIDE_UNDER,
                unsorted=("breast-side-2", "free-2"),
            ),
        ),
    ),
)
