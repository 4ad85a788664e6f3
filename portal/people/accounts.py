"""Somebody who can sign in; what they are to a club stands in `models`."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.db import models
from django.utils.translation import gettext_lazy as _


def short_name(name: str) -> str:
    """What people call each other by the pool."""
    return name.split(" ", 1)[0]


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, *, name: str, password: str | None = None) -> User:
        user = self.model(email=email.strip().lower(), name=name)
        user.set_password(password)
        user.save()
        return user

    def of_address(self, email: str, *, name: str) -> User:
        """The one account of an address, made if there is none. A name that stands there already
        is kept."""
        known = self.filter(email=email.strip().lower()).first()
        return known or self.create_user(email, name=name.strip() or email.strip())

    def get_by_natural_key(self, username: str | None) -> User:
        return self.get(email=(username or "").strip().lower())


class User(AbstractBaseUser, PermissionsMixin):
    """Somebody who can sign in. The address is the name to sign in with, in small letters."""

    code = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    email = models.EmailField(_("e-mail"), unique=True)
    name = models.CharField(_("name"), max_length=120)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_short_name(self) -> str:
        return short_name(self.name)
