"""How long the server takes over a preview while a person types: `python tests/bench/preview_speed.py [rounds]` [ms].

Through Django's test client, a four-cornered tray, the depth changed each time; the network and the browser are not in it.
"""

import os
import sys
import tempfile
import time
from pathlib import Path
from statistics import median, quantiles

sys.path.insert(0, str(Path(__file__).parents[2]))
ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 60


def main() -> None:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "fabjobs.settings"
    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.test import Client

    from fabjobs.models import Person, ShopSettings
    from tests.conftest import FORM

    settings.ALLOWED_HOSTS = ["testserver"]
    call_command("migrate", verbosity=0)
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    client, taken = Client(headers={"HX-Request": "true"}), []
    client.force_login(Person.objects.create_superuser("edda", password=None))
    for turn in range(ROUNDS + 3):
        start = time.perf_counter()
        answer = client.post("/jobs/new/preview", {**FORM, "depth": str(40 + turn % 20)})
        taken.append((time.perf_counter() - start) * 1000)
        assert "litres" in answer.content.decode()
    taken = taken[3:]  # the first ones load templates
    print(
        f"preview: median, 95th, worst [ms] of {ROUNDS}: {median(taken):.1f} {quantiles(taken, n=20)[-1]:.1f} {max(taken):.1f}"
    )


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FABJOBS_DATA"] = folder
        main()
