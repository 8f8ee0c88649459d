"""Every route of the desk, asked whatever its own description allows: it never fails inside."""

from __future__ import annotations

from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import not_a_server_error
from starlette.testclient import TestClient

from pic2chart.desk.store import Store
from pic2chart.desk.web_app import make_app
from tests.helpers.desk_page import begin, photo

APP: Any = make_app(None)  # type: ignore[arg-type]  # the folder comes with the tests
SCHEMA = schemathesis.openapi.from_asgi("/openapi.json", APP)
OPERATIONS = [found.ok() for found in SCHEMA.get_all_operations()]
SMALL = photo(width=60)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    APP.state.store = Store(tmp_path_factory.mktemp("api"))
    return TestClient(APP)


def living(desk: TestClient, known: list[str]) -> dict[str, Any]:
    """A small project that is there, as it is now."""
    view = desk.get(f"/api/projects/{known[-1]}") if known else None
    if view is None or view.status_code != 200:
        known.append(begin(desk, content=SMALL)["id"])
        return living(desk, known)
    return dict(view.json())


def test_every_route_is_described() -> None:
    described = {(one.method.upper(), one.path) for one in OPERATIONS}
    for route in APP.routes:
        if getattr(route, "include_in_schema", False) and route.path.startswith("/api"):
            assert {(method, route.path) for method in route.methods} <= described
    assert len(described) >= 15


@pytest.mark.slow
@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda one: f"{one.method} {one.path}")
def test_no_request_breaks_the_desk(operation: Any, desk: TestClient) -> None:
    known: list[str] = []

    @settings(
        max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
    )
    @given(operation.as_strategy())
    def ask(case: schemathesis.Case) -> None:
        view = living(desk, known)
        if case.path_parameters and "name" in case.path_parameters:
            case.path_parameters["name"] = view["id"]
        if isinstance(case.body, dict) and "revision" in case.body:
            case.body["revision"] = view["revision"]
        case.call_and_validate(checks=[not_a_server_error])

    ask()
