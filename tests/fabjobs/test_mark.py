"""The mark of the app, for browsers that ask for it by the name that all of them try."""

import pytest

pytestmark = pytest.mark.django_db


def test_it_is_found_whoever_asks(client):
    answer = client.get("/favicon.ico")
    assert answer.status_code == 302
    assert answer.url.endswith("fabjobs/mark.svg")


def test_it_is_only_asked_for(client):
    assert client.post("/favicon.ico").status_code == 405
