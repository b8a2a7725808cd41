//! What two stocks do to each other, and what one does to what is around its place.

use crate::catalogue::{Apart, Around, Form, Pair, Reagent, Relief, Surrounding, Verdict};

/// A stock as its neighbours see it.
#[derive(Debug, Clone, Copy)]
pub struct Neighbour<'a> {
    /// What it is.
    pub reagent: &'a Reagent,
    /// Solid or solution.
    pub form: Form,
    /// The most that it can hold, % w/w; nothing where nobody knows, which gets no relief.
    pub percent_w_w: Option<f64>,
}

/// Two stocks that must not stand together.
#[derive(Debug, Clone, Copy)]
pub struct Conflict<'a> {
    /// How far apart.
    pub verdict: Verdict,
    /// The row that says so.
    pub pair: &'a Pair,
    /// Why it is a step less than the row says, if it is.
    pub relief: Option<&'a Relief>,
}

impl<'a> Neighbour<'a> {
    /// Its reaction groups; none for a reagent without any on file.
    #[must_use]
    pub fn groups(self) -> &'a [String] {
        self.reagent.care.as_ref().map_or(&[], |care| &care.groups)
    }

    /// The relief that it gets in one of its groups against a group of another.
    fn relief(self, apart: &'a Apart, group: &str, against: &str) -> Option<&'a Relief> {
        apart.reliefs.iter().find(|relief| {
            relief.group == group
                && relief.form == self.form
                && relief.against.iter().any(|other| other == against)
                && self.percent_w_w.is_some_and(|percent| percent <= relief.up_to_percent_w_w)
        })
    }
}

/// The strictest that is on file of two stocks; nothing where no conflict is known.
///
/// Each group of the one meets each group of the other; a weak solution is let off one step, two weak ones no more, and a
/// tray remains. Two stocks of one reagent do not conflict. Peroxide of 3 % and vinegar: a tray; of 35 %: a cabinet.
///
/// Source: `facts` of each pair and relief.
#[must_use]
pub fn conflict<'a>(apart: &'a Apart, one: Neighbour<'a>, other: Neighbour<'a>) -> Option<Conflict<'a>> {
    if one.reagent.key == other.reagent.key {
        return None;
    }
    let met = one.groups().iter().flat_map(|a| other.groups().iter().map(move |b| (a, b)));
    let conflicts = met.filter_map(|(a, b)| {
        let pair = apart.pair(a, b)?;
        let relief = one.relief(apart, a, b).or_else(|| other.relief(apart, b, a));
        let relief = relief.filter(|_| pair.verdict.relieved() < pair.verdict);
        let verdict = relief.map_or(pair.verdict, |_| pair.verdict.relieved());
        (verdict > Verdict::None).then_some(Conflict { verdict, pair, relief })
    });
    // Of two that are as strict, the first on file speaks.
    conflicts.reduce(|worst, next| if next.verdict > worst.verdict { next } else { worst })
}

/// The strictest that is on file of a stock and anything of a group, whatever its strength; nothing where no conflict is
/// known. Peroxide of 3 % and a strong acid: a tray.
///
/// Source: `facts` of each pair and relief.
#[must_use]
pub fn against_group<'a>(apart: &'a Apart, one: Neighbour<'a>, group: &str) -> Option<Conflict<'a>> {
    let conflicts = one.groups().iter().filter_map(|own| {
        let pair = apart.pair(own, group)?;
        let relief = one.relief(apart, own, group).filter(|_| pair.verdict.relieved() < pair.verdict);
        let verdict = relief.map_or(pair.verdict, |_| pair.verdict.relieved());
        (verdict > Verdict::None).then_some(Conflict { verdict, pair, relief })
    });
    conflicts.reduce(|worst, next| if next.verdict > worst.verdict { next } else { worst })
}

/// What must not be around a stock's place, and is.
pub fn ill_placed<'a>(
    apart: &'a Apart,
    stock: Neighbour<'a>,
    around: &'a [Around],
) -> impl Iterator<Item = &'a Surrounding> {
    apart.surroundings.iter().filter(move |row| {
        around.contains(&row.tag)
            && row.groups.iter().any(|group| stock.groups().contains(group))
            && row.above_percent_w_w.is_none_or(|bound| stock.percent_w_w.is_none_or(|percent| percent > bound))
    })
}
