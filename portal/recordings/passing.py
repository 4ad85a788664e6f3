"""Guessed stretches that somebody has looked at and found empty. Nothing is thrown away."""

from __future__ import annotations

from django.db import transaction

from portal.recordings.models import Recording


def pass_over(recording: Recording, *, first_frame: int) -> None:
    """The guess that begins there is offered no more; none there, and nothing happens."""
    _mark(recording, first_frame, is_passed_over=True)


def offer_again(recording: Recording, *, first_frame: int) -> None:
    _mark(recording, first_frame, is_passed_over=False)


@transaction.atomic
def _mark(recording: Recording, first_frame: int, **mark: bool) -> None:
    """Reads the row anew and locks it: several people may look through one recording."""
    row = Recording.objects.select_for_update().get(pk=recording.pk)
    for guess in row.strip.get("guesses", []):
        if guess["first"] == first_frame:
            guess.update(mark)
    row.save(update_fields=["strip"])
    recording.strip = row.strip
