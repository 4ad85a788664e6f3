"""Open a club: asks what it must know, writes it in one go, and tries the mail."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from portal.clubhouse import opening, trying
from portal.clubhouse.opening import Impossible, Plan
from portal.jobs import running
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club, User

Check = Callable[[str], Any]


def _some(answer: str) -> str:
    if not answer.strip():
        raise Impossible("An answer is missing here.")
    return answer.strip()


def _season() -> tuple[str, str]:
    """August to July is common practice; anything else is typed over it."""
    today = timezone.now().date()
    first = date(today.year - (today.month < 8), 8, 1)
    return first.isoformat(), date(first.year + 1, 7, 31).isoformat()


SEASON_STARTS, SEASON_ENDS = "season_starts", "season_ends"
# By the name in the plan: what is asked, what stands there if nothing is typed, what checks it.
QUESTIONS: dict[str, tuple[str, str, Check]] = {
    "name": ("Name of the club", "", opening.check_name),
    "zone": ("Time zone", "Europe/London", opening.check_zone),
    "course": ("Length of the pool", "25 m", opening.check_course),
    SEASON_STARTS: ("First day of the season", "", opening.check_day),
    SEASON_ENDS: ("Last day of the season", "", opening.check_day),
    "squad": ("First squad", "Juniors", _some),
    "second_adult": ("Second adult of that squad, name (may wait)", "", str.strip),
    "second_adult_email": (
        "Second adult, e-mail (may wait)",
        "",
        opening.check_address_if_any,
    ),
    "head_coach": ("Head coach, name", "", _some),
    "head_coach_email": ("Head coach, e-mail", "", opening.check_address),
    "officer": ("Welfare officer, name", "", _some),
    "officer_email": ("Welfare officer, e-mail", "", opening.check_address),
    "second": ("Second recipient of concerns, name", "", _some),
    "second_email": ("Second recipient, e-mail", "", opening.check_address),
}


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        for name, (asks, default, _check) in QUESTIONS.items():
            said = f"{asks} (else {default})" if default else asks
            parser.add_argument(_flag(name), default=None, help=said)
        parser.add_argument("--no-input", action="store_true", help="Ask nothing: all by flags.")

    def handle(self, *_args: str, **options: Any) -> None:  # noqa: ANN401 - Django's signature
        at = timezone.now()
        given = {name: options[name] for name in QUESTIONS if options[name] is not None}
        club, head = self._open(given, at=at, asks=not options["no_input"])
        self.stdout.write(f"{club.name} is open.")
        self._try_mail(club, head, at=at)
        self.stdout.write(
            f"Now {head.name} signs in at {settings.PUBLIC_ADDRESS}/sign-in/ with that address; the"
            f" page {settings.PUBLIC_ADDRESS}/club/ then says what is still missing, in order."
        )

    def _open(self, given: dict[str, str], *, at: datetime, asks: bool) -> tuple[Club, User]:
        """Until the answers fit each other; what was typed stands there again, to be corrected."""
        offered = {name: default for name, (_asks, default, _check) in QUESTIONS.items()}
        offered |= dict(zip((SEASON_STARTS, SEASON_ENDS), _season(), strict=True))
        while True:
            answers = {
                name: self._asked(name, given.pop(name, None), offered[name])
                if asks
                else _checked(name, given.get(name, offered[name]))
                for name in QUESTIONS
            }
            try:
                return opening.open_club(Plan(**answers), at=at)
            except Impossible as error:
                if not asks:
                    raise CommandError(str(error)) from error
                self.stderr.write(str(error))
                offered = {name: str(answer) for name, answer in answers.items()}

    def _asked(self, name: str, given: str | None, offered: str) -> Any:  # noqa: ANN401
        asks, _default, check = QUESTIONS[name]
        hint = f" [{offered}]" if offered else ""
        while True:
            answer = given if given is not None else input(f"{asks}{hint}: ").strip() or offered
            try:
                return check(answer)
            except Impossible as error:
                self.stderr.write(str(error))
                given = None

    def _try_mail(self, club: Club, head: User, *, at: datetime) -> None:
        """Here and now, since no worker may be running yet."""
        mail, job = trying.try_mail(club, to=head, at=at)
        running.run_one(job.code, worker="open_club", at=at)
        mail.refresh_from_db()
        if mail.state != OutgoingMail.State.SENT:
            self.stderr.write(
                f"The test mail to {head.email} did not leave: {mail.last_error}. The club is open"
                " all the same; mend FLAGLINE_SMTP_... and send another from the page /club/."
            )
        elif settings.EMAIL_HOST:
            self.stdout.write(f"A test mail went to {head.email}. Ask whether it arrived.")
        else:
            self.stdout.write(
                f"There is no mail server yet, so the test mail lies in {settings.EMAIL_FILE_PATH}."
                " Set FLAGLINE_SMTP_HOST before you invite anybody."
            )


def _checked(name: str, answer: str) -> Any:  # noqa: ANN401 - each answer is of its own kind
    try:
        return QUESTIONS[name][2](answer)
    except Impossible as error:
        raise CommandError(f"{_flag(name)}: {error}") from error


def _flag(name: str) -> str:
    return f"--{name.replace('_', '-')}"
