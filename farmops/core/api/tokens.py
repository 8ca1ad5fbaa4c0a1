"""Trading a user name and password for a token."""

from typing import Any

from django.contrib.auth import authenticate
from rest_framework import exceptions, serializers
from rest_framework.authtoken.models import Token
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import SimpleRateThrottle

from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.core.api.views import ApiView


class WrongPassword(exceptions.APIException):
    """The name and the password do not go together; which of them is wrong is not said."""

    status_code = 401
    default_code = "wrong_password"
    default_detail = "This name and password do not go together."


class PerAddress(SimpleRateThrottle):
    """So many tries a minute from one address; a header that the caller can write does not count."""

    rate = "20/min"
    scope = "token"

    def get_cache_key(self, request: Request, view: Any) -> str:
        return f"token-tries-{request.META.get('REMOTE_ADDR', '')}"

    def allow_request(self, request: Request, view: Any) -> bool:
        """Whether it is one of the few tries; one that the cache cannot count is none."""
        return super().allow_request(request, view) and self.cache.get(self.key) is not None


class SignInShape(Shape):
    """Who signs in."""

    username = fields.Text(max_length=150)
    password = fields.Text(max_length=128, trim_whitespace=False)


class TokenShape(Shape):
    """The token to send as `Authorization: Token …`."""

    token = serializers.CharField(source="key", read_only=True)


class TokenView(ApiView):
    """Give a token for a user name and password."""

    authentication_classes = []
    permission_classes = []
    throttle_classes = [PerAddress]
    takes = SignInShape
    shows = TokenShape

    def post(self, request: Request) -> Response:
        user = authenticate(request, **self.taken())
        if user is None:
            raise WrongPassword
        token, _is_new = Token.objects.get_or_create(user=user)
        return self.shown(token)
