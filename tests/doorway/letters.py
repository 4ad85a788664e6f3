"""What goes to and fro at the door: a test reads its code where a person would."""

from __future__ import annotations

import re

from django.test import Client

from portal.doorway import offering
from portal.mailroom.models import OutgoingMail
from portal.people.models import User

PASSWORD = "paper boats in the gutter"


def code_for(user: User) -> str:
    mails = OutgoingMail.objects.filter(recipient=user, kind=OutgoingMail.Kind.CODE)
    found = re.search(r"\b\w{4}-\w{4}\b", mails.latest("pk").text)
    assert found
    return found[0]


def ask_for_code(client: Client, email: str, **extra: str):
    return client.post("/sign-in/", {"email": email, **extra})


def type_code(client: Client, code: str, **extra: str):
    return client.post("/sign-in/code/", {"code": code, **extra})


def come_in(client: Client, user: User, **extra: str):
    """As somebody who wants no passkey in this browser."""
    client.cookies[offering.cookie()] = "1"
    ask_for_code(client, user.email, **extra)
    return type_code(client, code_for(user), **extra)


def by_password(client: Client, email: str, password: str = PASSWORD, **extra: str):
    return client.post("/sign-in/password/", {"email": email, "password": password, **extra})


def is_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def seen(response) -> str:
    """The page without what differs from one request to the next."""
    page = re.sub(r'value="\w{64}"|[0-9]{4}(-[0-9]{4}){2}', "", response.content.decode())
    return f"{response.status_code} {response.headers.get('Location')} {page}"
