"""`dataclass` as the standard library's, for frozen values that are made quickly when a program starts.

The standard library compiles six functions for each frozen class, and for the hundreds of this program that
took longer at every start than all else of its own that is loaded. Here what all classes do alike is shared,
and only `__init__` is compiled, when the first value is made. What is not frozen is left to the standard
library, and so are the fields of a class: `fields`, `replace` and `asdict` work on it.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:
    import dataclasses
    from operator import attrgetter

    def dataclass(cls=None, *, frozen=False, slots=False, eq=True, kw_only=False):
        """Make a class a dataclass; to be used as `dataclasses.dataclass`."""
        if not frozen:
            return dataclasses.dataclass(cls, slots=slots, eq=eq, kw_only=kw_only)

        def made(given):
            bare = dataclasses.dataclass(init=False, repr=False, eq=False, slots=slots, kw_only=kw_only)
            return _frozen(bare(given), by_value=eq)

        return made if cls is None else made(cls)

    def _frozen(cls, *, by_value):
        own = vars(cls)
        shared = {"__setattr__": _refused, "__delattr__": _refused, "__repr__": _shown}
        shared |= {"__getstate__": _state, "__setstate__": _restore, "__init__": _first(cls)}
        if by_value:
            shared |= _compared(dataclasses.fields(cls))
        for name, function in shared.items():
            # Having __eq__, Python gives a class a __hash__ of None by itself.
            if own.get(name) is None:
                setattr(cls, name, function)
        return cls

    def _compared(columns):
        """Return what compares and hashes all values of a class, as tuples of what counts."""
        key = _key([each.name for each in columns if each.compare])
        hashed = [each.name for each in columns if (each.compare if each.hash is None else each.hash)]
        counted = _key(hashed)

        def equal(self, other):
            return key(self) == key(other) if other.__class__ is self.__class__ else NotImplemented

        return {"__eq__": equal, "__hash__": lambda self: hash(counted(self))}

    def _key(names):
        """Return what makes a tuple of some attributes of a value."""
        if len(names) > 1:
            return attrgetter(*names)
        return lambda value: tuple(getattr(value, name) for name in names)

    def _first(cls):
        """Return an `__init__` that at its first call puts the compiled one in its place."""

        def first(self, *values, **named):
            cls.__init__ = _init(cls)
            cls.__init__(self, *values, **named)

        return first

    def _init(cls):
        """Return the `__init__` of a class, compiled."""
        columns = dataclasses.fields(cls)
        names, lines = {"_set": object.__setattr__}, []
        for each in columns:
            given = each.name
            if each.default_factory is not dataclasses.MISSING:
                names |= {f"_make_{given}": each.default_factory, "_made": dataclasses.MISSING, "_or": _or}
                given = f"_or({given if each.init else '_made'}, _make_{given})"
            elif not each.init:
                continue
            # Past the class's own __setattr__, which refuses.
            if isinstance(cls.__dict__.get(each.name), _Slot):
                names[f"_set_{each.name}"] = cls.__dict__[each.name].__set__
                lines.append(f"_set_{each.name}(self, {given})")
            else:
                lines.append(f"_set(self, {each.name!r}, {given})")
        if hasattr(cls, "__post_init__"):
            lines.append("self.__post_init__()")
        taken = [each for each in columns if each.init and not each.kw_only]
        by_name = [each for each in columns if each.init and each.kw_only]
        parameters = ["self", *(_parameter(each, names) for each in taken), *(["*"] if by_name else [])]
        parameters += [_parameter(each, names) for each in by_name]
        exec(f"def __init__({', '.join(parameters)}):\n " + "\n ".join(lines or ["pass"]), names)
        made = names["__init__"]
        made.__qualname__ = f"{cls.__qualname__}.__init__"
        return made

    def _or(given, make):
        return make() if given is dataclasses.MISSING else given

    def _parameter(each, names):
        if each.default is not dataclasses.MISSING:
            names[f"_default_{each.name}"] = each.default
            return f"{each.name}=_default_{each.name}"
        return each.name if each.default_factory is dataclasses.MISSING else f"{each.name}=_made"

    class _Slotted:
        __slots__ = ("slot",)

    _Slot = type(_Slotted.slot)

    def _refused(self, name, *value):
        raise dataclasses.FrozenInstanceError(f"{type(self).__qualname__}.{name}")

    def _shown(self):
        listed = (each for each in dataclasses.fields(self) if each.repr)
        said = ", ".join(f"{each.name}={getattr(self, each.name)!r}" for each in listed)
        return f"{type(self).__qualname__}({said})"

    # A frozen value could not be unpickled or copied by setting its attributes.
    def _state(self):
        return [getattr(self, each.name) for each in dataclasses.fields(self)]

    def _restore(self, state):
        for each, value in zip(dataclasses.fields(self), state, strict=True):
            object.__setattr__(self, each.name, value)
