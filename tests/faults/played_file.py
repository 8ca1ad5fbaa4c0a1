"""The embedded settings for proofs that play other days than today's."""

from farmops.settings.embedded import *  # noqa: F403

MAIL_CLOCK_IS_WATCHED = False
