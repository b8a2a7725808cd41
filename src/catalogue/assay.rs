//! `hazards/assays.toml`: tests of strength, what each suits, how exact it is, how it is done.

use serde::Deserialize;

use super::Reagent;

/// A test of strength.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Method {
    /// Which test.
    pub word: Test,
    /// Its name in a sentence.
    pub name: String,
    /// Key of the source of its formula.
    pub source: String,
    /// The reagents it is listed for; empty where any will do.
    pub suits: Vec<Suits>,
    /// What happens in it, in one sentence.
    pub says: String,
    /// How exact its readings are.
    pub errors: Vec<Error>,
    /// Colour blocks of a common strip, mg/L.
    #[serde(default)]
    pub scale: Vec<f64>,
    /// What one needs.
    pub needs: Vec<String>,
    /// Cautions, told first.
    pub cautions: Vec<String>,
    /// Steps, with places to be filled in.
    pub steps: Vec<String>,
    /// What makes it read wrong.
    pub traps: String,
}

/// A test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Test {
    /// Oxygen caught over water.
    OxygenVolume,
    /// Titration with permanganate.
    Permanganate,
    /// Titration of iodine with thiosulfate.
    Iodometric,
    /// A strip after dilution.
    Strip,
    /// Density.
    Density,
    /// Loss on drying.
    Drying,
    /// A result from elsewhere.
    Figure,
}

impl Test {
    /// Every test, the cheapest first.
    pub const ALL: [Test; 7] = [
        Test::OxygenVolume,
        Test::Strip,
        Test::Density,
        Test::Drying,
        Test::Permanganate,
        Test::Iodometric,
        Test::Figure,
    ];

    /// The word used in the register, on the command line and in answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Test::OxygenVolume => "oxygen-volume",
            Test::Permanganate => "permanganate",
            Test::Iodometric => "iodometric",
            Test::Strip => "strip",
            Test::Density => "density",
            Test::Drying => "drying",
            Test::Figure => "figure",
        }
    }
}

/// A reagent that a test is good for.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Suits {
    /// Its key.
    pub reagent: String,
    /// The strongest solution it is told for, as mass per cent.
    pub up_to_percent_w_w: f64,
    /// Electrons that one formula unit takes up, for titrations that count them.
    #[serde(default)]
    pub electrons: Option<f64>,
    /// True if the reading counts chlorine.
    #[serde(default)]
    pub as_chlorine: bool,
}

/// How exact a reading is: one standard deviation.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Error {
    /// Which reading.
    pub of: String,
    /// The number.
    pub value: f64,
    /// Its unit; `1` for parts of the result.
    pub unit: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// What each test needs to know of its own errors; `check.rs` sees to it that it is there.
pub(super) const NEEDED: [(Test, &[&str]); 7] = [
    (Test::OxygenVolume, &["gas", "sample", "pressure", "temperature", "share", "least"]),
    (Test::Permanganate, &["sample", "titre", "share", "dilution", "least"]),
    (Test::Iodometric, &["sample", "titre", "share", "dilution", "least"]),
    (Test::Strip, &["share", "dilution", "step"]),
    (Test::Density, &["density", "temperature", "most"]),
    (Test::Drying, &["mass", "share"]),
    (Test::Figure, &[]),
];

impl Method {
    /// The figure on file for one of its errors.
    ///
    /// # Panics
    /// Never for a checked catalogue and a name of [`NEEDED`].
    #[must_use]
    pub fn error(&self, of: &str) -> f64 {
        self.errors.iter().find(|error| error.of == of).expect("an error that check.rs demands").value
    }

    /// The row for a reagent, if the test is listed for it.
    #[must_use]
    pub fn suits(&self, reagent: &Reagent) -> Option<&Suits> {
        self.suits.iter().find(|suits| suits.reagent == reagent.key)
    }
}
