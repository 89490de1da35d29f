"""The default limits are made without a validator, and no less valid for that."""

from routing.limits import DEFAULT_LIMITS, Limits


def test_the_defaults_are_what_validation_would_make_of_them() -> None:
    validated = Limits.model_validate(DEFAULT_LIMITS.model_dump(by_alias=False), by_name=True)
    assert validated == DEFAULT_LIMITS
    assert DEFAULT_LIMITS.model_dump() == Limits().model_dump()
