"""Every operation of the studio's own API description, tried with made-up requests: none may fail.

Routes are found in the description, so a new one is tried without a word here.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import ignored_auth  # noqa: F401
from starlette.testclient import TestClient
from studio_clients import local_teacher
