"""Files that cannot be used are refused, and what is said names file, entry and value."""

from __future__ import annotations

from pathlib import Path

import pytest

from portal.technique.reading import BadCatalogue, read
from tests.technique.test_catalogue import CHECKPOINT, FAULT, NAMELESS, WHOLE, closed, write


def test_it_works(tmp_path: Path) -> None:
    catalogue = read(write(tmp_path, WHOLE))
    [fault] = catalogue.faults
    assert (fault.slug, fault.drills, fault.rules) == ("low-heels", ("land-kick",), ("touch",))
    assert catalogue.rules[0].views == ("wall-deck",)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (WHOLE + 'colour = "red"', r"terms.toml: faults 'low-heels': unknown key 'colour'"),
        (WHOLE.replace("cue_young", "cue_yong"), r"'cue_yong'. Did you mean 'cue_young'\?"),
        (WHOLE.replace('cue = "Heels up."', ""), r"faults 'low-heels': 'cue' is missing"),
        (WHOLE.replace('"Heels up."', '" "'), r"faults 'low-heels': cue is ' '. Write words"),
        (WHOLE.replace('"Heels up."', "3"), r"faults 'low-heels': cue is 3. Write words"),
        (WHOLE.replace('drills = ["land-kick"]', "drills = []"), r"drills is \[\]. Write a list"),
        (
            WHOLE.replace('"land-kick"]', '"land-kik"]'),
            r"no file has the drills 'land-kik'. Did you mean 'land",
        ),
        (
            WHOLE.replace('t = "heels"', 't = "toes"'),
            r"has the checkpoint 'toes'. Known: heels",
        ),
        (
            WHOLE.replace('["touch"]', '["grab"]'),
            r"faults 'low-heels': no file has the rules 'grab'",
        ),
        (
            WHOLE.replace('["knees"]', '["elbow"]'),
            r"drills 'land-kick': no file has the cautions 'elb",
        ),
        (WHOLE + CHECKPOINT, r"terms.toml: checkpoints 'heels' stands in terms.toml already"),
        (WHOLE.replace('rules = ["touch"]', ""), r"terms.toml: nothing names rules 'touch'"),
        (WHOLE.replace('["breast"]', '["brest"]', 1), r"unknown strokes 'brest'. Did you mean 'br"),
        (WHOLE.replace('"kick"', '"kik"', 1), r"unknown phase 'kik'. Did you mean 'kick'\?"),
        (WHOLE.replace('"side-u', '"sid-u'), r"'sid-underwater'. Did you mean 'side-underwater'"),
        (WHOLE.replace('"major"', '"bad"'), r"unknown severity 'bad'. Known: major, minor, mod"),
        (WHOLE.replace('"part"', '"sure"'), r"rules 'touch': unknown certainty 'sure'. Known: f"),
        (WHOLE.replace("[[faults]]", "[[falts]]"), r"unknown table 'falts'. Did you mean 'faults'"),
        (
            WHOLE.replace('"World Aquatics"', '"World Aquatic"'),
            r"unknown book 'World Aquatic'. Did you mean 'World Aquatics'",
        ),
        (WHOLE.replace('views = ["wall-deck"]', ""), r"rules 'touch': 'views' is missing"),
        (
            WHOLE.replace('"3 x 8"', '"3 x 8"\nthings = ["fins"]'),
            r"drills 'land-kick': no file has the things 'fins'",
        ),
        (
            WHOLE + '[[equipment]]\nslug = "mat"\nname = "Mat"\ntext = "Dry."',
            r"nothing names equipment 'mat'",
        ),
        (
            WHOLE + FAULT.replace('"low-heels"', '"lower-heels"'),
            r"faults 'lower-heels' has the name of 'low-heels': 'Low heels'",
        ),
        (WHOLE + closed("faults low-heels"), r"retired 'low-heels' still stands in terms.toml"),
        (closed("faults a", "faults a"), r"retired 'faults a' stands in terms.toml already"),
        (closed("fault a"), r"retired 'a': unknown table 'fault'. Did you mean 'faults'"),
        (
            WHOLE + closed("faults a", more='merged_into = "low-heel"'),
            r"retired 'a': 'low-heel', which takes over, is none of the faults. Did you mean 'low",
        ),
        (
            closed("faults a", more='merged_into = "b"') + closed("faults b"),
            r"retired 'a': 'b', which takes over, is none of the faults",
        ),
        (
            WHOLE + closed("faults a", more='merged_into = "b"\nsplit_into = ["c"]'),
            r"retired 'a' is merged and split",
        ),
        ("faults = [3]", r"terms.toml: faults 3: is not a table"),
        ("faults =", r"terms.toml: is not TOML"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(BadCatalogue, match=message):
        read(write(tmp_path, text))


@pytest.mark.parametrize(
    ("ledger", "message"),
    [
        ("\n".join([*NAMELESS, "faults lowheels"]), r"'lowheels' stands in no file any more"),
        ("\n".join(NAMELESS[:3]), r"ledger.txt: 'faults low-heels' is new"),
    ],
)
def test_a_slug_that_the_ledger_does_not_know_or_misses_is_refused(
    tmp_path: Path, ledger: str, message: str
) -> None:
    write(tmp_path, WHOLE)
    write(tmp_path, "\n".join(NAMELESS), "ledger.txt")
    read(tmp_path)
    write(tmp_path, ledger, "ledger.txt")
    with pytest.raises(BadCatalogue, match=message):
        read(tmp_path)
