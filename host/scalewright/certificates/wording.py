"""The sentences of a certificate, each with the clause that asks for it. Clauses: ISO/IEC 17025:2017, 7.8."""

from scalewright.certificates.document import Certificate, Limits, MassFacts, Test

TITLE = "Calibration certificate"
ANSWERS = {
    "accept": "within",
    "conditional accept": "within, in guard band",
    "conditional reject": "outside, in guard band",
    "reject": "outside",
}
"""what is printed of each answer of `analysis.decision`"""
CONFORMITY = {"accept": "pass", "conditional accept": "conditionalPass"}
CONFORMITY |= {"conditional reject": "conditionalFail", "reject": "fail"}
"""what the DCC schema calls each (stringConformityStatementStatusType)"""
SCOPE = (  # 7.8.2.1 l and the note below it
    "The results relate only to the scale named above, as it was at the time and place of the calibration. "
    "This certificate may be copied only as a whole."
)
NOT_LEGAL = (
    "This is not a verification under legal metrology and gives no permission to use the scale for trade, for dosing "
    "medicine or for a safety limit: that takes type approval and verification under local law, by those licensed for "
    "it. It claims no accreditation."
)
NOT_ADJUSTED = "none: the results hold as found and as left"
BEFORE_ROUNDING = (
    "Indications are those before the display rounds them to the division d: computed from the recorded raw counts "
    "with the coefficients that the scale weighed with, or found at the changeover points of the display."
)
_TRACEABLE = (  # 7.8.4.1 c
    "The reference masses carry the unit of mass to this result: their values are traceable to the International "
    "System of Units through the certificates named in the table of reference masses."
)
_NOT_TRACEABLE = (
    "No certificate was on record for {}: taken at nominal value, within the limits of their class. Metrological "
    "traceability is not shown for them."
)


def verdict(test: Test) -> str:
    """Return the statement of conformity in few words (7.8.6.2 a, b)."""
    return {True: "within its limits", False: "outside its limits", None: "no limits stated"}[test.conforms]


def uncertainty(certificate: Certificate) -> str:
    """Say what U is (7.8.4.1 a; JCGM 100:2008, 7.2.3)."""
    share = f"{certificate.coverage_probability:.2%}".replace("%", " %")
    return (
        "U is the expanded uncertainty: the standard uncertainty of the error multiplied by the coverage factor k, for "
        f"a coverage probability of about {share} (JCGM 100:2008; k from Student's t with the effective degrees of "
        "freedom \N{GREEK SMALL LETTER NU}). Its budget follows EURAMET cg-18: reference masses, air buoyancy, "
        "repeatability, division and eccentric loading. U is given to two digits, the error to the same place "
        "(JCGM 100:2008, 7.2.6). It does not include what happens to the scale after the calibration."
    )


def decision(limits: Limits) -> str:
    """State the decision rule and its risk (7.8.6.1, 7.8.6.2 b, c)."""
    return (
        f"Errors are held against {limits.source}. Decision rule: {limits.rule}. An error exactly at the acceptance "
        f"limit is outside the tolerance with a probability of {limits.largest_false_accept:.1%} (JCGM 106:2012)."
    ).replace("%", " %")


def traceability(masses: tuple[MassFacts, ...]) -> str:
    """Say where the unit comes from (7.8.4.1 c), or that it is not shown."""
    bare = ", ".join(mass.name for mass in masses if not mass.certificate)
    if bare or not masses:
        return _NOT_TRACEABLE.format(bare or "the reference masses")
    return _TRACEABLE


def proof(certificate: Certificate) -> str:
    """Say what the hash is good for."""
    return (
        f"This certificate was made from job {certificate.proof.job} of the records alone. The hash is that of entry "
        f"{certificate.proof.seq}; whoever has the records can prove by it that this entry and all before it are as "
        "they were written:"
    )
