//! The words of `assay`: one subcommand a test.

use chrono::NaiveDate;
use clap::{Args, Subcommand};

use super::arguments;
use super::assay_plan::PlanArguments;
use crate::catalogue::Test;

/// Enter a test of a stock's strength, or plan one
#[derive(Debug, Args)]
#[command(
    override_usage = "brimstock assay plan <STOCK>\n       brimstock assay <STOCK> <TEST> ...",
    after_help = "Examples:\n  brimstock assay plan HP-1\n  brimstock assay HP-1 oxygen-volume --gas 49.5mL --sample 5mL --temp 22C --altitude 540m"
)]
pub struct Assay {
    /// The stock's code
    pub stock: Option<String>,
    #[command(subcommand)]
    pub(super) method: Method,
}

/// Every usage names the stock, which stands before the test and may not be left out there.
#[derive(Debug, Subcommand)]
pub(super) enum Method {
    /// How to do the cheapest test that is worth it, and what to expect
    Plan(PlanArguments),
    /// Peroxide: yeast takes it apart, the oxygen is caught over water
    #[command(
        override_usage = "brimstock assay <STOCK> oxygen-volume [OPTIONS] --gas <GAS> --sample <SAMPLE> --temp <TEMP>",
        after_help = "Example: brimstock assay HP-1 oxygen-volume --gas 49.5mL --sample 5mL --temp 22C --pressure \"950 hPa\""
    )]
    OxygenVolume {
        /// The gas in the cylinder, the air that the sample pushed out taken off
        #[arg(long, allow_hyphen_values = true)]
        gas: String,
        /// The sample
        #[arg(long, allow_hyphen_values = true)]
        sample: String,
        /// The temperature of gas and water
        #[arg(long, allow_hyphen_values = true)]
        temp: String,
        /// The air pressure where you stand, as "950 hPa" (not one that is reduced to sea level)
        #[arg(long, allow_hyphen_values = true, conflicts_with = "altitude")]
        pressure: Option<String>,
        /// Your altitude, as 540m, instead of the pressure or beside --sea-level
        #[arg(long, allow_hyphen_values = true)]
        altitude: Option<String>,
        /// The air pressure reduced to sea level, as a weather report gives it
        #[arg(long, allow_hyphen_values = true, requires = "altitude", conflicts_with = "pressure")]
        sea_level: Option<String>,
        /// How much higher the water stands inside the cylinder than outside, as 5cm
        #[arg(long, allow_hyphen_values = true)]
        column: Option<String>,
        /// How many times the sample had been thinned first, as 10
        #[arg(long, allow_hyphen_values = true)]
        diluted: Option<String>,
        #[command(flatten)]
        when: When,
    },
    /// Peroxide: permanganate is added until a pink stays
    #[command(
        override_usage = "brimstock assay <STOCK> permanganate [OPTIONS] --titre <TITRE> --of <STRENGTH> --sample <SAMPLE>",
        after_help = "Example: brimstock assay HP-1 permanganate --titre 35.3mL --of \"0.02 mol/L\" --sample 2mL"
    )]
    Permanganate(Titration),
    /// Peroxide, bleach, permanganate: the iodine it sets free is taken away with thiosulfate
    #[command(
        override_usage = "brimstock assay <STOCK> iodometric [OPTIONS] --titre <TITRE> --of <STRENGTH> --sample <SAMPLE>",
        after_help = "Example: brimstock assay BL-1 iodometric --titre 14.2mL --of \"0.1 mol/L\" --sample 1mL"
    )]
    Iodometric(Titration),
    /// Peroxide, bleach: a test strip after dilution; a colour block is an interval
    #[command(
        override_usage = "brimstock assay <STOCK> strip [OPTIONS] <READING>",
        after_help = "Examples:\n  brimstock assay HP-1 strip 10mg/L --diluted 3000 --scale 0.5,2,5,10,25\n  brimstock assay HP-1 strip \">25mg/L\" --diluted 1000"
    )]
    Strip {
        /// The block: `10mg/L`; `">25mg/L"` where it was darker than the last
        #[arg(allow_hyphen_values = true)]
        reading: String,
        /// How many times the sample had been thinned, as 3000 or 1:3000
        #[arg(long, allow_hyphen_values = true)]
        diluted: Option<String>,
        /// Every block of the scale, in the same unit [default: 0.5,2,5,10,25]
        #[arg(long)]
        scale: Option<String>,
        #[command(flatten)]
        when: When,
    },
    /// Strong solutions: density by spindle or scale
    #[command(
        override_usage = "brimstock assay <STOCK> density [OPTIONS] --temp <TEMP> <DENSITY>",
        after_help = "Example: brimstock assay HP-4 density 1.131g/mL --temp 20C"
    )]
    Density {
        /// The density
        #[arg(allow_hyphen_values = true)]
        density: String,
        /// The temperature of the solution
        #[arg(long, allow_hyphen_values = true)]
        temp: String,
        #[command(flatten)]
        when: When,
    },
    /// Damp solids: weighed, left in dry air, weighed again
    #[command(
        override_usage = "brimstock assay <STOCK> drying [OPTIONS] --wet <WET> --dry <DRY>",
        after_help = "Example: brimstock assay PA-1 drying --wet 50.0g --dry 47.2g"
    )]
    Drying {
        /// What it weighed before
        #[arg(long, allow_hyphen_values = true)]
        wet: String,
        /// What it weighed when it lost no more
        #[arg(long, allow_hyphen_values = true)]
        dry: String,
        #[command(flatten)]
        when: When,
    },
    /// A result that was had elsewhere, with its standard deviation
    #[command(
        override_usage = "brimstock assay <STOCK> figure [OPTIONS] --sd <SD> <STRENGTH>",
        after_help = "Example: brimstock assay HP-1 figure \"2.7 % w/v\" --sd 3%"
    )]
    Figure {
        /// The strength that was found
        #[arg(allow_hyphen_values = true)]
        strength: String,
        /// Its relative standard deviation
        #[arg(long, allow_hyphen_values = true)]
        sd: String,
        /// The day of the test [default: the day of the question]
        #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
        date: Option<NaiveDate>,
    },
}

#[derive(Debug, Args)]
pub(super) struct When {
    /// The relative standard deviation of the whole test, where you know it better
    #[arg(long, allow_hyphen_values = true)]
    pub(super) sd: Option<String>,
    /// The day of the test [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub(super) date: Option<NaiveDate>,
}

#[derive(Debug, Args)]
pub(super) struct Titration {
    /// The titrant used
    #[arg(long, allow_hyphen_values = true)]
    pub(super) titre: String,
    /// The titrant's strength, as "0.02 mol/L", "0.1 N" or "3.16 g/L"
    #[arg(long, value_name = "STRENGTH", allow_hyphen_values = true)]
    pub(super) of: String,
    /// The sample in the cup
    #[arg(long, allow_hyphen_values = true)]
    pub(super) sample: String,
    /// How many times the sample had been thinned first, as 25 or 10mL:250mL
    #[arg(long, allow_hyphen_values = true)]
    pub(super) diluted: Option<String>,
    #[command(flatten)]
    pub(super) when: When,
}

impl Method {
    pub(super) fn test(&self) -> Test {
        match self {
            Method::OxygenVolume { .. } => Test::OxygenVolume,
            Method::Permanganate(_) => Test::Permanganate,
            Method::Iodometric(_) => Test::Iodometric,
            Method::Strip { .. } => Test::Strip,
            Method::Density { .. } => Test::Density,
            Method::Drying { .. } => Test::Drying,
            Method::Figure { .. } | Method::Plan(_) => Test::Figure,
        }
    }

    pub(super) fn date(&self) -> Option<NaiveDate> {
        match self {
            Method::OxygenVolume { when, .. }
            | Method::Strip { when, .. }
            | Method::Density { when, .. }
            | Method::Drying { when, .. } => when.date,
            Method::Permanganate(titration) | Method::Iodometric(titration) => titration.when.date,
            Method::Figure { date, .. } => *date,
            Method::Plan(_) => None,
        }
    }

    /// What was typed of the readings, for the journal.
    pub(super) fn typed(&self) -> String {
        match self {
            Method::OxygenVolume { gas, sample, temp, .. } => format!("{gas} of gas from {sample} at {temp}"),
            Method::Permanganate(titration) | Method::Iodometric(titration) => {
                format!("{} of {} for {}", titration.titre, titration.of, titration.sample)
            }
            Method::Strip { reading, diluted, .. } => {
                format!("{reading} after {}", diluted.as_deref().unwrap_or("no dilution"))
            }
            Method::Density { density, temp, .. } => format!("{density} at {temp}"),
            Method::Drying { wet, dry, .. } => format!("{wet} wet, {dry} dry"),
            Method::Figure { strength, .. } => strength.clone(),
            Method::Plan(_) => String::new(),
        }
    }
}
