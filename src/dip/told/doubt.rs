//! What is to be asked about a recipe before anybody follows it.

use super::beside::Beside;
use super::weigh::Weighed;
use super::{Told, UnitWord};
use crate::catalogue::{Catalogue, Reagent};
use crate::chem::Substance;
use crate::chem::solubility::saturated_concentration;
use crate::units::Temperature;
use crate::units::estimate::Estimate;
use crate::units::measure::{Kitchen, VolumeReading, VolumeUnit};
use crate::units::show::{plain, significant};

/// How far apart a claim and what it comes to may lie before it is questioned.
const FAR: f64 = 1.5;

/// What the text tells that is wrong, by the catalogue's list.
#[must_use]
pub fn wrongs(text: &str, catalogue: &Catalogue) -> Vec<String> {
    let text = text.to_lowercase();
    catalogue.loose().wrongs.iter().filter(|wrong| wrong.is_told(&text)).map(|wrong| wrong.says.clone()).collect()
}

/// Every question about a recipe, the most dangerous first.
#[must_use]
pub fn questions(
    told: &Told,
    weighed: &Weighed,
    rows: &[Beside],
    reagent: &Reagent,
    catalogue: &Catalogue,
) -> Vec<String> {
    let mut asked = Vec::new();
    if let Some(strength) = weighed.g_per_l {
        asked.extend(out_of_the_book(strength, rows, catalogue));
        asked.extend(too_long(told, rows));
        asked.extend(too_much_to_dissolve(weighed, strength, reagent));
        asked.extend(claim(weighed, strength));
        asked.extend(removal(told, strength, reagent, catalogue));
    } else {
        asked.push("into how much water? Only an amount is told".to_owned());
    }
    if weighed.any_bottle {
        asked.push(
            "how strong is the bottle? One ratio or measure for every bottle means another bath with each; read its label"
                .to_owned(),
        );
    }
    asked.extend(wrongs(&told.text, catalogue));
    asked.extend(taken_for(told, reagent));
    asked.extend(told.qualified.iter().map(|(word, name)| {
        format!("is `{word} {name}` {} at all? `{word}` was not understood", reagent.short_name())
    }));
    asked.extend(hidden(told, catalogue));
    asked.extend(equated(told));
    if told.minutes.is_none() && weighed.g_per_l.is_some() {
        asked.push("for how long? No time is told".to_owned());
    }
    if told.several_times {
        asked.push("which time? More than one is told; they are read as the shortest to the longest".to_owned());
    }
    asked
}

/// Far above or far below everything that the book has for plants; for gear where it has nothing for plants.
fn out_of_the_book(strength: Estimate, rows: &[Beside], catalogue: &Catalogue) -> Option<String> {
    let reading = &catalogue.loose().reading;
    let plants = rows.iter().any(|row| row.for_plants);
    let rows: Vec<&Beside> = rows.iter().filter(|row| row.for_plants == plants).collect();
    let top = rows.iter().max_by(|a, b| a.goal.high.to_g_per_l().total_cmp(&b.goal.high.to_g_per_l()))?;
    let bottom = rows.iter().min_by(|a, b| a.goal.low.to_g_per_l().total_cmp(&b.goal.low.to_g_per_l()))?;
    let over = |value: f64| value / top.goal.high.to_g_per_l();
    let times = |value: f64| significant(over(value), 2);
    let limit = reading.too_strong.value;
    if over(strength.mid) > limit && over(strength.low) > 1.0 {
        return Some(format!(
            "is this meant for plants? It is {} times the upper end of the strongest dip on file (`{}`); look for a slip in \
             spoon, gallon or unit",
            times(strength.mid),
            top.dip
        ));
    }
    if over(strength.high) > limit {
        return Some(format!(
            "which of its meanings? It can be up to {} times the upper end of the strongest dip on file (`{}`)",
            times(strength.high),
            top.dip
        ));
    }
    let under = bottom.goal.low.to_g_per_l() / strength.mid;
    (under > reading.too_weak.value).then(|| {
        format!(
            "is it meant so weak? It is {} of the low end of the weakest dip on file (`{}`)",
            significant(1.0 / under, 2),
            bottom.dip
        )
    })
}

/// Far longer than every dip for plants in whose band the strength lies.
fn too_long(told: &Told, rows: &[Beside]) -> Option<String> {
    let minutes = told.minutes?;
    let longest = rows
        .iter()
        .filter(|row| row.for_plants && row.is_in_band())
        .max_by(|a, b| a.minutes.high.total_cmp(&b.minutes.high))?;
    let times = minutes.high / longest.minutes.high;
    (times > FAR).then(|| {
        format!(
            "so long? It is {} times the longest time on file at this strength (`{}`, {} min)",
            significant(times, 2),
            longest.dip,
            plain(longest.minutes.high)
        )
    })
}

/// That the bath, or the stock solution made first, would hold more than water dissolves at 20 °C.
fn too_much_to_dissolve(weighed: &Weighed, strength: Estimate, reagent: &Reagent) -> Option<String> {
    let bench = Temperature::celsius(20.0);
    let most = saturated_concentration(Substance::of(reagent), bench).ok()?.to_g_per_l();
    let wanted = weighed.stock.unwrap_or(strength.mid).max(strength.mid);
    (wanted > most).then(|| {
        format!(
            "does it dissolve? {} g/L are wanted, at 20 °C a litre holds {} g; the rest stays at the bottom",
            significant(wanted, 2),
            significant(most, 2)
        )
    })
}

/// That the text's own strength is not what its amounts come to.
fn claim(weighed: &Weighed, strength: Estimate) -> Option<String> {
    let claimed = weighed.claimed?;
    (strength.mid > claimed.high * FAR || strength.mid < claimed.low / FAR).then(|| {
        format!(
            "which is right? It claims {} mg/L, its amounts come to {} mg/L",
            plain(claimed.low * 1000.0),
            significant(strength.mid * 1000.0, 2)
        )
    })
}

/// That what is told to be removed is not what so much neutraliser removes, by the dip book's theory.
///
/// `removed = g/L / (g of neutraliser for a gram)`; 0.42 mg/L of thiosulfate at 7.0 g/g is 0.06 mg/L of chlorine.
fn removal(told: &Told, strength: Estimate, reagent: &Reagent, catalogue: &Catalogue) -> Option<String> {
    let claimed = told.removes.as_ref()?;
    let super::StrengthWord::Unit(unit) = &claimed.unit else { return None };
    let stop = catalogue.dips().iter().filter_map(|dip| dip.stop.as_ref()).find(|stop| stop.reagent == reagent.key)?;
    let removed = strength.scaled(1.0 / stop.theory.value);
    let claimed = unit.of(claimed.value.low).base();
    (claimed > removed.mid * FAR || claimed < removed.mid / FAR).then(|| {
        format!(
            "does it remove that much? By {} g for a gram it takes up {} mg/L of chlorine, not {}: {} times too much is \
             claimed",
            plain(stop.theory.value),
            significant(removed.mid * 1000.0, 2),
            plain(claimed * 1000.0),
            significant(claimed / removed.mid, 2)
        )
    })
}

/// That another thing may be meant, which is easily taken for the reagent.
fn taken_for(told: &Told, reagent: &Reagent) -> Vec<String> {
    let plain_word =
        |text: &str| text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
    let whole = plain_word(&told.text);
    let named = |taken: &&crate::catalogue::TakenFor| {
        let head = taken.name.split(" (").next().unwrap_or(&taken.name);
        let mut parts = head.split([',', ';']).map(plain_word);
        let by_name = parts.any(|part| part.len() > 5 && whole.contains(&part));
        let is_named = told.named.iter().any(|(words, _)| plain_word(words) == plain_word(head));
        (by_name && !is_named) || taken.words.iter().any(|word| whole.contains(word.as_str()))
    };
    let asked = reagent.taken_for.iter().filter(named);
    asked.map(|taken| format!("is it {}? {}", taken.name, taken.difference)).collect()
}

/// Words that hide a number, with what they have meant and a way to measure.
fn hidden(told: &Told, catalogue: &Catalogue) -> Vec<String> {
    let words = &catalogue.loose().words;
    let places = told.doses.iter().filter_map(|dose| match dose.portion.as_ref().map(|portion| &portion.unit) {
        Some(UnitWord::Loose(place)) => Some(*place),
        _ => None,
    });
    let asked = places.chain(told.shade).map(|place| {
        let word = &words[place];
        let mark = catalogue.source(&word.range.source).and_then(|source| source.mark());
        format!(
            "how much is `{}`? It has meant {} to {} {}{}; instead: {}",
            word.says[0],
            plain(word.range.low),
            plain(word.range.high),
            word.range.unit,
            mark.map_or(String::new(), |mark| format!(" [{mark}]")),
            word.instead
        )
    });
    asked.collect()
}

/// Two measures told to be the same that are not, in any kitchen.
fn equated(told: &Told) -> Vec<String> {
    let size = |unit: &UnitWord, kitchen: Kitchen| {
        let word = match unit {
            UnitWord::Volume(word) => word.as_str(),
            UnitWord::Ounce => "floz",
            UnitWord::Mass(_) | UnitWord::Loose(_) => return None,
        };
        match VolumeUnit::called(word, Some(kitchen))? {
            VolumeReading::One(unit) | VolumeReading::Guessed(unit) => Some(unit.ml),
            VolumeReading::Ask(us, _) => Some(us.ml),
        }
    };
    let name = |unit: &UnitWord| match unit {
        UnitWord::Volume(word) => word.clone(),
        _ => "oz".to_owned(),
    };
    let asked = told.equated.iter().filter_map(|(one, other)| {
        let near = |kitchen: Kitchen| {
            let (a, b) = (size(&one.unit, kitchen)? * one.count.low, size(&other.unit, kitchen)? * other.count.low);
            Some(a / b)
        };
        let ratios: Vec<f64> = Kitchen::ALL.into_iter().filter_map(|(kitchen, _)| near(kitchen)).collect();
        let first = *ratios.first()?;
        let fits = ratios.iter().any(|ratio| (0.8..=1.25).contains(ratio));
        (!fits).then(|| {
            format!(
                "which of the two? {} {} is {} times {} {}; the first is counted",
                plain(one.count.low),
                name(&one.unit),
                significant(first, 2),
                plain(other.count.low),
                name(&other.unit)
            )
        })
    });
    asked.collect()
}
