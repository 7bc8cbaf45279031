"""The demo's database is served in demo mode only, and no other in it."""

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command

from parties.keys import installation
from parties.mode import check_mode


@pytest.mark.django_db
@pytest.mark.parametrize("made_in_demo", [True, False])
def test_a_database_of_the_other_mode_is_refused(settings, made_in_demo):
    settings.DEMO = made_in_demo
    installation()
    check_mode()
    settings.DEMO = not made_in_demo
    with pytest.raises(ImproperlyConfigured):
        check_mode()


@pytest.mark.django_db
def test_the_story_is_not_played_into_a_real_installation(settings, tmp_path):
    installation()
    settings.DEMO = True
    with pytest.raises(CommandError, match="real installation"):
        call_command("play_scenario", record=tmp_path / "record.zip")


@pytest.mark.django_db
def test_an_empty_database_takes_either_mode(settings):
    check_mode()
    settings.DEMO = True
    check_mode()
