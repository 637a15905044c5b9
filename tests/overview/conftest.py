"""The pages here stand on seasons: what the tests of plans begin with."""

from tests.plans.conftest import ten_weeks

__all__ = ["ten_weeks"]
