"""A service is set by flags and by variables of the environment, and says how it is set."""

from __future__ import annotations

import click
import pytest
from click.testing import CliRunner
from pydantic import SecretStr

from api.settings import Settings, settings_options

TOKEN = "correct-horse-battery"


def given(*flags, **variables):
    """The settings that flags and variables lead to, or what is said about them."""
    found = []

    @click.command()
    @settings_options
    def command(settings):
        found.append(settings)

    result = CliRunner().invoke(command, flags, env=variables)
    return found[0] if found else result.output


def test_nothing_given_is_the_careful_default():
    assert given() == Settings()
    assert (Settings().host, Settings().token, Settings().cors_origins) == ("127.0.0.1", None, ())


def test_every_setting_has_a_flag_and_a_variable():
    assert given("--most-picks", "7").most_picks == 7
    assert given(KITWRIGHT_MOST_PICKS="7").most_picks == 7
    assert given("--watch").watch
    assert given(KITWRIGHT_WATCH="true").watch
    assert given("--token", TOKEN).token == SecretStr(TOKEN)
    said = given("--help")
    for name in Settings.model_fields:
        assert f"--{name.replace('_', '-')}" in said


def test_a_flag_goes_before_a_variable():
    assert given("--port", "8001", KITWRIGHT_PORT="8002").port == 8001
    assert not given("--no-watch", KITWRIGHT_WATCH="1").watch


def test_several_origins():
    origins = ("https://a.example", "https://b.example")
    assert given("--cors-origins", origins[0], "--cors-origins", origins[1]).cors_origins == origins
    assert given(KITWRIGHT_CORS_ORIGINS=" ".join(origins)).cors_origins == origins


@pytest.mark.parametrize(("flags", "said"), [
    (("--port", "0"), "--port: should be greater than or equal to 1"),
    (("--workers", "many"), "--workers: should be a valid integer"),
    (("--token-for", "posts"), "--token-for"), (("--most-seconds", "nan"), "--most-seconds"),
    (("--token", "short"), "--token: should have at least 16 characters"),
])
def test_a_wrong_value_is_said_with_its_flag(flags, said):
    assert said in given(*flags)


def test_a_wrong_token_is_not_printed():
    assert "hunter2" not in given("--token", "hunter2")


def test_what_is_printed_holds_every_setting_and_no_secret():
    lines = list(Settings(token=SecretStr(TOKEN), cors_origins=("*",)).lines())
    assert len(lines) == len(Settings.model_fields)
    assert {"token=(set)", "cors_origins=*", "watch=no", "cache_folder=-"} <= set(lines)
    assert TOKEN not in " ".join(lines)


def test_questions_and_slow_bodies_together_never_take_every_thread():
    for settings in (Settings(questions=4, queue=10), Settings(questions=1, queue=0)):
        bodies = settings.threads // 2  # as api.intake takes them
        assert settings.threads - settings.questions - settings.queue - bodies >= 2
