"""A row that is put into its object at once is the object that Django makes of it, and no table of these has a listener."""

import pytest
from django.apps import apps
from django.db.models import FileField, Model
from django.db.models.signals import post_init, pre_init

from farmops.core.quick_rows import QuickRows
from farmops.farms.models import Hand
from tests.factories import make_farm, make_hand

QUICK = [one for one in apps.get_models() if issubclass(one, QuickRows)]


@pytest.mark.django_db
def test_it_is_the_object_that_django_makes() -> None:
    hand = make_hand(make_farm("east"), "rosa")
    names = [one.attname for one in Hand._meta.concrete_fields]
    values = Hand.objects.filter(pk=hand.pk).values_list(*names).get()
    quick, usual = (
        Hand.from_db("default", names, values),
        Model.from_db.__func__(Hand, "default", names, values),
    )
    assert vars(quick).keys() == vars(usual).keys()
    assert {name: vars(quick)[name] for name in names} == {name: vars(usual)[name] for name in names}
    assert (
        (quick._state.adding, quick._state.db) == (usual._state.adding, usual._state.db) == (False, "default")
    )
    assert quick == usual


@pytest.mark.django_db
def test_it_reads_its_farm_and_what_was_left_out_and_is_saved_as_any_row() -> None:
    made = make_hand(make_farm("east"), "rosa")
    hand = Hand.objects.only("name").get(pk=made.pk)
    assert hand.get_deferred_fields() == {one.attname for one in Hand._meta.concrete_fields} - {"id", "name"}
    assert (hand.code, hand.farm) == ("rosa", made.farm)
    together = Hand.objects.select_related("farm").get(pk=made.pk)
    assert together._state.fields_cache["farm"] == made.farm
    together.farm_id = made.farm_id + 1
    assert not together._state.fields_cache
    hand.name = "Rosa B."
    hand.save()
    assert Hand.objects.get().name == "Rosa B."


@pytest.mark.parametrize("model", QUICK, ids=lambda one: one._meta.label)
def test_nobody_waits_to_hear_of_its_objects(model: type[Model]) -> None:
    assert not any(signal.has_listeners(model) for signal in (pre_init, post_init))
    assert not any(isinstance(one, FileField) for one in model._meta.get_fields())
    assert model.__init__ is Model.__init__
