from collections.abc import Callable

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from portal.doorway.hiding import hide, is_hidden, reveal

# In the data of a code app and of recovery codes.
NAMES = ("secret", "seed")


def hide_all(apps: StateApps, _editor: BaseDatabaseSchemaEditor | None) -> None:
    _rewrite(apps, lambda text: text if is_hidden(text) else hide(text))


def reveal_all(apps: StateApps, _editor: BaseDatabaseSchemaEditor | None) -> None:
    _rewrite(apps, lambda text: reveal(text) if is_hidden(text) else text)


def _rewrite(apps: StateApps, put: Callable[[str], str]) -> None:
    factors = apps.get_model("mfa", "Authenticator").objects
    for factor in factors.filter(type__in=["totp", "recovery_codes"]):
        kept = {name: put(factor.data[name]) for name in NAMES if name in factor.data}
        factors.filter(pk=factor.pk).update(data={**factor.data, **kept})


class Migration(migrations.Migration):
    dependencies = [("mfa", "0003_authenticator_type_uniq")]

    operations = [migrations.RunPython(hide_all, reveal_all)]
