"""What allauth asks its surroundings: who may sign up, who asks, and where mail and word go."""

from __future__ import annotations

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.doorway import entering, mailing
from portal.kit import forwarding
from portal.people.models import User

CODE = "account/email/login_code"
UNKNOWN = "account/email/unknown_account"


class DoorAdapter(DefaultAccountAdapter):
    error_messages: dict[str, str | Promise] = {
        **DefaultAccountAdapter.error_messages,
        "incorrect_code": _(
            "That is not the code in our newest mail. Look again, or ask for a new one."
        ),
        "too_many_login_attempts": _("Three tries were wrong. Ask for a new code."),
    }

    def is_open_for_signup(self, _request: HttpRequest) -> bool:
        """By invitation only."""
        return False

    def get_client_ip(self, request: HttpRequest) -> str:
        return forwarding.client(request)

    def add_message(self, *_args: object, **_details: object) -> None:
        """The pages say themselves what has happened."""

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Into the outbox. For an address that nobody has, the same work is done and taken back,
        so that the time an answer takes tells nothing."""
        at = timezone.now()
        if template_prefix == UNKNOWN:
            mailing.rehearse_code(email, at=at)
            return
        if template_prefix == CODE:
            user = User.objects.get(email=email.lower())
            mailing.send_code(user, code=context["code"], at=at)

    def send_notification_mail(
        self, template_prefix: str, user: User, *_args: object, **_details: object
    ) -> None:
        at, what = timezone.now(), template_prefix.rpartition("/")[2]
        note(Entry.Action.CHANGED, user, at=at, by=user, what=what)
        mailing.tell_of_change(user, template_prefix, at=at)

    def login(self, request: HttpRequest, user: User) -> None:
        super().login(request, user)
        entering.settle(request, user, at=timezone.now())

    def respond_user_inactive(self, _request: HttpRequest, _user: User) -> HttpResponseBase:
        """As if the passkey were a stranger's."""
        return redirect("doorway:sign_in")
