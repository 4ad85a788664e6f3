"""The web server's door into the portal. It stays shut while the checks find a fault."""

import os
import sys

from django.core.management.base import SystemCheckError
from django.core.wsgi import get_wsgi_application

from portal.env import BadSetting
from portal.kit.checks import refuse_faults

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

try:
    application = get_wsgi_application()
    refuse_faults()
except (BadSetting, SystemCheckError) as error:
    # The journal of the web server holds no messages; whoever starts it must read this one.
    sys.stderr.write(f"{error}\n")
    raise
