"""What is said of a mount that fits another row or size than the one it is called by."""

from geometry.core.findings import Finding
from geometry.survey.fits import Fit, Fitting, Place, fitting
from geometry.survey.recall import effect
from geometry.survey.verdict import recall_words
from geometry.tables.axles import End
from geometry.tables.interfaces import Interface


def called(fit: Fit, end: End) -> str:
    """Return a row and its size in words; its end where that is not the mount's."""
    where = "" if fit.end == end else f" ({fit.end} mount)"
    return f"{fit.row}{where} made for {fit.native:g}"


def doubts(found: Fitting, end: End, native: float) -> tuple[str, ...]:
    """Return what is to be confirmed before a mount that was read is kept for this end and native size."""
    said = []
    other = found.other
    if other is not None:
        if found.named is None:
            against = f"and no shipped row is made for {native:g}, the size you named"
        else:
            against = f"and {found.named.off:.2f} mm from {called(found.named, end)}, as you named it"
        which = (
            "Look whether this mount belongs at the other end"
            if other.end != end
            else f"Look which disc it carries without an adapter: if {other.native:g}, name that"
        )
        said.append(
            f"ANOTHER {'END' if other.end != end else 'SIZE'} FITS BETTER: these readings lie "
            f"{other.off:.2f} mm from {called(other, end)}, {against}. {which}."
        )
    if found.stray:
        best = found.best
        derived = " That row's own numbers are derived, and may be what is wrong." if best.provisional else ""
        away = found.stranger
        stranger = (
            "" if away is None else f" {called(away, end)}, of another family, lies {away.off:.2f} mm away."
        )
        said.append(
            f"NO SHIPPED ROW IS NEAR: the nearest, {called(best, end)}, lies {best.off:.2f} mm away. Look at "
            f"family, end and native size, and read again.{derived}{stranger}"
        )
    if found.recall is not None and found.surely:
        off = effect(found.recall)
        said.append(
            f"THESE NUMBERS WERE WRONG: {recall_words(found.recall)} The holes of such a mount lie "
            f"{off.near:.2f} and {off.far:.2f} mm from where they belong: it is no mount to learn from."
        )
    return tuple(said)


def recall_note(found: Fitting) -> str:
    """Return what is told of recalled numbers that a mount fits as well as today's, or an empty string."""
    if found.recall is None or found.surely:
        return ""
    near = "It lies nearer to those than to today's, and within the tolerance of both."
    return f"{recall_words(found.recall)} {near}"


def stamps(form: Interface) -> tuple[Finding, ...]:
    """Return what a job's own row is warned of in large letters: another size, or numbers that were wrong."""
    if not form.own:
        return ()
    found = fitting(
        form.family, form.end, form.native, Place(form.h, form.x_near, form.x_far, dict(form.bands))
    )
    said = []
    other, named = found.other, found.named
    if other is not None:
        away = "" if named is None else f" and {named.off:.2f} mm from {called(named, form.end)}"
        what = (
            f"NATIVE SIZE IN DOUBT: used as made for {form.native:g}, but the numbers lie {other.off:.2f} mm "
            f"from {called(other, form.end)}{away}. Find out which it is before cutting."
        )
        said.append(Finding("native-in-doubt", "warn", what, "interface", large=True))
    if found.recall is not None and found.surely:
        what = f"WRONG NUMBERS: {found.recall.sentence} Do not cut by these."
        said.append(Finding("recalled", "warn", what, "interface", large=True))
    return tuple(said)
