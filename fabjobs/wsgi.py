"""The app as a WSGI server runs it."""

import atexit
import os
from contextlib import ExitStack

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fabjobs.settings")

from django.conf import settings

from fabjobs.environment import keep_secret_key
from fabjobs.safekeeping import backups, folder_lock

# Every process of a server must sign with the same key, so it is kept before the first request.
settings.DATA.mkdir(mode=0o700, parents=True, exist_ok=True)
settings.SECRET_KEY = keep_secret_key(settings.DATA, settings.SECRET_KEY)
application = get_wsgi_application()
# As `start` does: nothing is restored while this serves, and a backup is made each day.
held = ExitStack()
held.enter_context(folder_lock.shared(settings.DATA))
held.enter_context(backups.one_a_day())
atexit.register(held.close)
