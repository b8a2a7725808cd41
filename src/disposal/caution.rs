//! What every plan says of itself: the short form under each, the long form where the program speaks of itself.

/// Under every plan.
const SHORT: &str = "General advice for a small shelf, drawn from public guidance; it can be wrong, or wrong for you. The label, the local law, your fire authority, water company and poison centre stand above it. In an emergency leave, and call them.";

/// The same at length.
const LONG: [&str; 9] = [
    "This program sorts, counts and reminds. It vouches for nothing: not for a bottle, not for a plan, not for the law; and it stands in for no trained person.",
    "Who is heard first: the emergency services and the poison centre; then the label and the supplier's data sheet; then the local code, permit or sewer rule; then those licensed to do the work; this program last.",
    "Where it and one of these disagree, take the program to be the one in error. Put what you were told into your local rules, and that is what it goes by; where it is the stricter of the two, as with copper, which goes to no drain, it stays so.",
    "No warning means that none is known here, and no more. It knows nothing of mixtures, dirt, age beyond its data, heat, or a bottle whose label is gone.",
    "What it says of used baths is what public guidance allows for weak ones, and it says it only once you have entered whom you asked and what they answered. Until then every plan ends at the site for household hazardous waste.",
    "It gives no medical advice. Its lines on first aid are for the minutes until help is there.",
    "Bounds of the law move, and differ from place to place. Each is printed with its source; once its day of review has passed, the answer says `check`.",
    "An estimate is printed with its range. Where something must be rounded, it is rounded to the careful side, and that is said.",
    "It is no help in buying, making or concentrating what is regulated. A strength above the legal one that you entered is refused.",
];

/// Two sentences and a half for the foot of every plan.
///
/// Source: `judgement`.
#[must_use]
pub fn short() -> &'static str {
    SHORT
}

/// Nine points, for where the program speaks of itself.
///
/// Source: `judgement`.
#[must_use]
pub fn long() -> &'static [&'static str] {
    &LONG
}
