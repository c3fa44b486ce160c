"""The two ways to run, and what the environment may say."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client

from fabjobs import environment
from fabjobs.models import Person

HOUSE = Path(__file__).parents[2]


def ask(code: str, data: Path, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run a line of Python under settings that these variables make."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("FABJOBS_")}
    whole = {**kept, "DJANGO_SETTINGS_MODULE": "fabjobs.settings", "FABJOBS_DATA": str(data), **variables}
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", f"from django.conf import settings as s; {code}"],
        cwd=HOUSE, env=whole, capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_the_defaults_are_safe_on_the_shops_network(tmp_path: Path) -> None:
    done = ask("print(s.DEBUG, s.ALLOWED_HOSTS, s.SESSION_COOKIE_HTTPONLY, s.DATA)", tmp_path)
    assert done.stdout.split("\n")[0] == f"False ['localhost', '127.0.0.1', '[::1]'] True {tmp_path}"


def test_behind_tls_nothing_travels_in_the_clear(tmp_path: Path) -> None:
    code = "print(s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, s.SECURE_SSL_REDIRECT, s.CSRF_TRUSTED_ORIGINS)"
    done = ask(code, tmp_path, FABJOBS_TLS="1", FABJOBS_HOSTS="shop.example, .yard.example")
    assert done.stdout.strip() == "True True True ['https://shop.example', 'https://*.yard.example']"


@pytest.mark.parametrize(
    ("variables", "words"),
    [
        ({"FABJOBS_TLS": "1"}, "FABJOBS_TLS=1 needs FABJOBS_HOSTS"),
        ({"FABJOBS_TLS": "maybe"}, "FABJOBS_TLS must be 1 or 0 (got 'maybe')"),
        ({"FABJOBS_DEBUG": "2"}, "FABJOBS_DEBUG must be 1 or 0"),
        ({"FABJOBS_TZ": "Middle/Earth"}, "FABJOBS_TZ must be a zone such as Europe/Oslo (got 'Middle/Earth')"),
        ({"FABJOBS_TZ": "../../etc/passwd"}, "FABJOBS_TZ must be a zone"),
    ],
)
def test_a_variable_that_makes_no_sense_is_told_in_one_line(
    tmp_path: Path, variables: dict[str, str], words: str
) -> None:
    whole = {**os.environ, "FABJOBS_DATA": str(tmp_path), **variables}
    done = subprocess.run(
        [sys.executable, "manage.py", "check"], cwd=HOUSE, env=whole, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert done.stderr.startswith(f"fabjobs cannot start: {words}")
    assert len(done.stderr.splitlines()) == 1


def test_the_zone_asked_for_is_used(tmp_path: Path) -> None:
    assert ask("print(s.TIME_ZONE)", tmp_path, FABJOBS_TZ="Europe/Oslo").stdout == "Europe/Oslo\n"


def test_reading_the_secret_key_makes_no_file(tmp_path: Path) -> None:
    one, other = (ask("print(s.SECRET_KEY)", tmp_path / "none").stdout for _ in range(2))
    assert one != other
    assert not (tmp_path / "none").exists()


def test_a_kept_secret_key_is_the_owners_alone_and_stays(tmp_path: Path) -> None:
    key = environment.secret_key(tmp_path)
    assert environment.keep_secret_key(tmp_path, key) == key
    assert environment.keep_secret_key(tmp_path, environment.secret_key(tmp_path / "none")) == key
    assert stat.S_IMODE((tmp_path / "secret.key").stat().st_mode) == 0o600
    assert ask("print(s.SECRET_KEY)", tmp_path).stdout.strip() == key


def test_the_secret_key_of_the_environment_is_not_written_down(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FABJOBS_SECRET_KEY", "from a vault")
    assert environment.keep_secret_key(tmp_path, environment.secret_key(tmp_path)) == "from a vault"
    assert not (tmp_path / "secret.key").exists()


def test_a_damaged_secret_key_is_told(tmp_path: Path) -> None:
    (tmp_path / "secret.key").write_text("")
    done = ask("print(s.SECRET_KEY)", tmp_path)
    assert "secret.key is damaged: delete it and start again" in done.stderr


def test_every_page_carries_a_strict_policy(client: Client, owner: Person) -> None:
    for path in ("/sign-in", "/nowhere"):
        policy = client.get(path)["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
        assert "nonce" not in policy
    answer = client.get("/sign-in")
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "HX-Request" in answer["Vary"]


def test_no_page_needs_what_the_policy_forbids() -> None:
    for template in (HOUSE / "templates").rglob("*.html"):
        if "papers" in template.parts:
            continue
        text = template.read_text()
        assert " style=" not in text, template
        assert " onclick" not in text, template
        assert "hx-on" not in text, template
        assert "<style" not in text, template


def test_what_a_page_needs_is_served(client: Client, owner: Person) -> None:
    page = client.get("/sign-in").content.decode()
    for name in ("fabjobs/fabjobs.css", "fabjobs/fabjobs.js", "fabjobs/mark.svg", "django_htmx/htmx-2.min.js"):
        assert f'"/static/{name}"' in page
        answer = client.get(f"/static/{name}")
        assert answer.status_code == 200
        answer.close()


def test_a_page_that_is_not_there(client: Client, signed_in: Client) -> None:
    answer = signed_in.get("/nowhere/<b>")
    assert answer.status_code == 404
    assert "leads to no page or job" in answer.content.decode()
    assert "<b>" not in answer.content.decode()


def test_a_strange_host_is_refused(client: Client, owner: Person) -> None:
    assert client.get("/sign-in", headers={"Host": "evil.example"}).status_code == 400


def test_a_fault_of_our_own_is_a_plain_page(owner: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    client = Client(raise_request_exception=False)
    client.force_login(owner)

    def fail(*_: object) -> None:
        raise RuntimeError("the pipe burst")

    monkeypatch.setattr("fabjobs.views.jobs._found", fail)
    answer = client.get("/jobs/")
    assert answer.status_code == 500
    assert "Something broke" in answer.content.decode()
    assert "pipe" not in answer.content.decode()
