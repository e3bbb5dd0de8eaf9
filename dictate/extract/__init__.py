"""Room: phrases -> readings. The door is `read_fields`; `compile_rules` makes its tables."""

from dictate.extract.fields import Rules, compile_rules, read_fields

__all__ = ["Rules", "compile_rules", "read_fields"]
