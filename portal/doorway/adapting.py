"""What allauth asks its surroundings: who may sign up, who asks, and where mail and word go."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.core import context
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.doorway import entering, hiding, mailing, strengthening
from portal.doorway.naming import browser_of
from portal.kit import forwarding
from portal.people.models import User

CODE = "account/email/login_code"
UNKNOWN = "account/email/unknown_account"


class DoorAdapter(DefaultAccountAdapter):
    error_messages: dict[str, str | Promise] = {
        **DefaultAccountAdapter.error_messages,
        "incorrect_code": _("That is not the code in our newest mail."),
    }

    def is_open_for_signup(self, _request: HttpRequest) -> bool:
        """By invitation only."""
        return False

    def get_client_ip(self, request: HttpRequest) -> str:
        return forwarding.client(request)

    def add_message(self, *_args: object, **_details: object) -> None:
        """The pages say themselves what has happened."""

    def send_mail(self, template_prefix: str, email: str, words: dict[str, Any]) -> None:
        """Into the outbox. For an address that nobody has, the same work is done and taken back,
        so that the time an answer takes tells nothing."""
        at, known = timezone.now(), User.objects.filter(email=email.lower()).first()
        if template_prefix == UNKNOWN:
            mailing.rehearse_code(email, at=at)
        elif template_prefix == CODE and known:
            mailing.send_code(known, code=words["code"], at=at)

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
        """Suspended between two steps."""
        return redirect("doorway:sign_in")


class FactorAdapter(DefaultMFAAdapter):
    error_messages: dict[str, str | Promise] = {
        **DefaultMFAAdapter.error_messages,
        "incorrect_code": _("That did not fit. Your app shows a new code every half minute."),
    }

    def is_mfa_enabled(self, user: User, types: Sequence[Authenticator.Type] | None = None) -> bool:
        """Asked with both types, it means: is somebody to be asked for a second step?"""
        if types and set(types) == set(strengthening.FACTORS):
            return strengthening.is_asked(user, at=timezone.now())
        enabled: bool = super().is_mfa_enabled(user, types)
        return enabled

    def encrypt(self, text: str) -> str:
        return hiding.hide(text)

    def decrypt(self, encrypted_text: str) -> str:
        return hiding.reveal(encrypted_text)

    def generate_authenticator_name(self, _user: User, _type: Authenticator.Type) -> str:
        """What a passkey is called until somebody says otherwise."""
        return browser_of(context.request.headers.get("User-Agent", ""))

    def get_public_key_credential_rp_entity(self) -> dict[str, str]:
        entity: dict[str, str] = super().get_public_key_credential_rp_entity()
        return {**entity, "name": "Flagline"}
