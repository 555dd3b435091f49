//! Gathers findings that are alike.

use serde::Serialize;

use super::{
    Check, Stage, find, inside_radius_small, sharp_inside_corner, skim_overload, unreached_beyond_tolerance,
};
use crate::finding::{Finding, Severity};
use crate::tolerance::SAME_CORNER_MM;

/// Findings that are alike: of one name, about the same inside corners, or remarks on how the drawing was read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct FindingGroup {
    /// Its number, from 1: that of its marks on the sheet.
    pub number: usize,
    /// How bad its worst finding is.
    pub severity: Severity,
    /// What they are called on paper and on the page.
    pub title: String,
    /// Names of its findings: first what decides, then what is found at the same places.
    pub names: Vec<&'static str>,
    /// How many more findings it has that are not listed; several may be at one place.
    pub not_listed: usize,
    /// One finding a place, the worst first: where each stands in `findings`, from 0.
    pub placed: Vec<usize>,
    /// All its findings: where each stands in `findings`, from 0.
    pub findings: Vec<usize>,
}

/// What is found at an inside corner or radius; what decides whether the part is good comes first.
const AT_CORNER: [&Check; 4] = [
    &unreached_beyond_tolerance::CHECK,
    &inside_radius_small::CHECK,
    &skim_overload::CHECK,
    &sharp_inside_corner::CHECK,
];

/// Gathers findings, which stand worst first: a group a name. What is found at one corner is one place, of the name that decides there;
/// remarks on how the drawing was read are one group.
pub fn group_findings(findings: &[Finding]) -> Vec<FindingGroup> {
    let deciding = deciding_at_corner(findings);
    let mut groups: Vec<FindingGroup> = Vec::new();
    let mut group_of = vec![0; findings.len()];
    for (i, finding) in findings.iter().enumerate().filter(|(i, _)| deciding[*i] == *i) {
        let is_of = |group: &FindingGroup| is_alike(&findings[group.placed[0]], finding);
        let at = groups.iter().position(is_of).unwrap_or(groups.len());
        if at == groups.len() {
            groups.push(empty(at + 1, finding));
        }
        groups[at].placed.push(i);
        group_of[i] = at;
    }
    for (i, finding) in findings.iter().enumerate() {
        let group = &mut groups[group_of[deciding[i]]];
        group.findings.push(i);
        group.not_listed += finding.not_listed;
        if !group.names.contains(&finding.name) {
            group.names.push(finding.name);
        }
    }
    for group in &mut groups {
        group.placed.sort_by(|a, b| {
            let (a, b) = (&findings[*a], &findings[*b]);
            a.severity.cmp(&b.severity).then(excess(b).total_cmp(&excess(a)))
        });
        group.title = title(group, findings);
    }
    groups
}

fn empty(number: usize, first: &Finding) -> FindingGroup {
    FindingGroup {
        number,
        severity: first.severity,
        title: String::new(),
        names: vec![first.name],
        not_listed: 0,
        placed: Vec::new(),
        findings: Vec::new(),
    }
}

fn is_alike(a: &Finding, b: &Finding) -> bool {
    a.name == b.name || (is_remark(a) && is_remark(b))
}

/// Whether it only remarks how the drawing was read.
pub fn is_remark(finding: &Finding) -> bool {
    finding.severity == Severity::Note
        && find(finding.name).is_some_and(|check| check.stage == Stage::Drawing)
}

fn title(group: &FindingGroup, findings: &[Finding]) -> String {
    if is_remark(&findings[group.placed[0]]) {
        return "reading the drawing".to_owned();
    }
    let checks = group.names.iter().filter_map(|name| find(name));
    let titles: Vec<&str> = checks.map(|check| check.title).collect();
    titles.join(", ")
}

/// Returns for each finding the one that decides at its corner: itself where it is about no corner.
fn deciding_at_corner(findings: &[Finding]) -> Vec<usize> {
    let rank = |i: usize| {
        let name = findings[i].name;
        AT_CORNER.iter().position(|check| check.name == name)
    };
    let mut about_corners: Vec<usize> = (0..findings.len()).filter(|i| rank(*i).is_some()).collect();
    about_corners.sort_by_key(|i| (findings[*i].severity, rank(*i)));
    let mut deciding: Vec<usize> = (0..findings.len()).collect();
    let mut corners: Vec<usize> = Vec::new();
    for i in about_corners {
        let same = |corner: &&usize| is_same_corner(&findings[**corner], &findings[i]);
        match corners.iter().find(same) {
            Some(corner) => deciding[i] = *corner,
            None => corners.push(i),
        }
    }
    deciding
}

/// Of one name, only what several passes find there is about one corner.
fn is_same_corner(a: &Finding, b: &Finding) -> bool {
    let is_near =
        a.at.zip(b.at)
            .is_some_and(|(a, b)| a.distance(b) <= SAME_CORNER_MM);
    is_near && a.contour == b.contour && (a.name != b.name || a.name == skim_overload::CHECK.name)
}

/// How far beyond its limit it is, as a ratio; what it measures where it has no limit.
fn excess(finding: &Finding) -> f64 {
    match (finding.measured, finding.limit) {
        (Some(measured), Some(limit)) => (measured.value / limit.value).max(limit.value / measured.value),
        (Some(measured), None) => measured.value,
        (None, _) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Quantity;
    use crate::geometry::Point;
    use crate::id::ContourId;

    fn found(check: &Check, severity: Severity, x: f64, um: f64) -> Finding {
        Finding::new(check.name, severity, "found", "mend")
            .at(Point::new(x, 0.0))
            .on_contour(ContourId::FIRST)
            .measured(Quantity::um_of_mm(um / 1e3))
    }

    #[test]
    fn a_square_corner_is_one_finding() {
        let corner = |x: f64, um: f64| {
            [
                found(&unreached_beyond_tolerance::CHECK, Severity::Error, x, um),
                found(&skim_overload::CHECK, Severity::Warning, x + 0.04, 37.0),
                found(&skim_overload::CHECK, Severity::Warning, x + 0.05, 21.0),
                found(&skim_overload::CHECK, Severity::Warning, x + 0.05, 11.0),
                found(&sharp_inside_corner::CHECK, Severity::Note, x, 41.0),
            ]
        };
        let mut findings = [corner(0.0, 52.0), corner(10.0, 54.0)].concat();
        findings.sort_by_key(|finding| finding.severity);
        let groups = group_findings(&findings);
        let [group] = groups.as_slice() else {
            panic!("{groups:?}")
        };
        assert_eq!((group.severity, group.placed.len()), (Severity::Error, 2));
        assert_eq!(
            group.names,
            [
                "unreached-beyond-tolerance",
                "skim-overload",
                "sharp-inside-corner"
            ]
        );
        assert_eq!(
            findings[group.placed[0]].at,
            Some(Point::new(10.0, 0.0)),
            "the worst first"
        );
        assert_eq!(group.findings.len(), findings.len());
    }

    #[test]
    fn two_corners_near_one_another_are_two_places() {
        let sharp = |x: f64| found(&sharp_inside_corner::CHECK, Severity::Note, x, 12.0);
        let groups = group_findings(&[sharp(0.0), sharp(0.3)]);
        assert_eq!(groups[0].placed.len(), 2);
    }

    #[test]
    fn remarks_on_reading_are_one_group_and_come_after_what_is_worse() {
        let drawing =
            |name: &str, severity| Finding::new(find(name).expect("a check").name, severity, "x", "y");
        let mut many = found(&skim_overload::CHECK, Severity::Warning, 0.0, 31.0);
        many.not_listed = 40;
        let groups = group_findings(&[
            many,
            drawing("ignored-entities", Severity::Note),
            drawing("zero-length-curve", Severity::Note),
            drawing("ignored-entities", Severity::Note),
        ]);
        let told: Vec<_> = groups
            .iter()
            .map(|group| (group.number, group.placed.len(), group.not_listed))
            .collect();
        assert_eq!(told, [(1, 1, 40), (2, 3, 0)]);
        assert_eq!(groups[1].names, ["ignored-entities", "zero-length-curve"]);
    }
}
