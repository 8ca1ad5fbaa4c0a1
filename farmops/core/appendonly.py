"""Rows that are written once. The interface offers no change, this queryset refuses, and `guards` make the database refuse."""

from typing import Any, NoReturn

from django.db import models


class AppendOnlyRefused(TypeError):
    """Code tried to change or delete a row that is kept for ever: a mistake in the program, not of a user."""


class AppendOnlyQuerySet(models.QuerySet):
    """A queryset that reads and adds."""

    def update(self, **kwargs: Any) -> NoReturn:
        raise AppendOnlyRefused(f"{self.model.__name__} rows are never changed; write a row that supersedes.")

    def delete(self) -> NoReturn:
        raise AppendOnlyRefused(f"{self.model.__name__} rows are never deleted.")

    def bulk_update(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise AppendOnlyRefused(f"{self.model.__name__} rows are never changed; write a row that supersedes.")


class AppendOnlyModel(models.Model):
    """Base of every table that is only ever added to."""

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise AppendOnlyRefused(f"{type(self).__name__} {self.pk} is never changed.")
        super().save(*args, **{**kwargs, "force_insert": True})

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise AppendOnlyRefused(f"{type(self).__name__} {self.pk} is never deleted.")
