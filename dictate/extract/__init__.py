"""Room: phrases -> readings. The door is `read_fields`; `compile_rules` makes its tables,
`with_usage` puts a taster's own degrees into them."""

from dictate.extract.fields import Rules, compile_rules, degree_of, read_fields, with_usage

__all__ = ["Rules", "compile_rules", "degree_of", "read_fields", "with_usage"]
