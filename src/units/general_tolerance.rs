//! General tolerances for lengths without a tolerance of their own, by ISO 2768-1.

const TABLE: &str = include_str!("../data/iso2768-linear-mm.csv");

/// Permissible deviation, plus or minus, mm, of a size in class `f`, `m`, `c` or `v`; `None` where the
/// standard gives none.
pub fn general_tolerance_mm(class: char, size_mm: f64) -> Option<f64> {
    let mut lines = TABLE.lines();
    let name = class.to_ascii_lowercase().to_string();
    let column = lines.next()?.split(',').position(|head| head == name)?;
    let smallest_mm = 0.5;
    lines.find_map(|line| {
        let row: Vec<&str> = line.split(',').collect();
        let over_mm: f64 = row.first()?.parse().ok()?;
        let to_mm: f64 = row.get(1)?.parse().ok()?;
        let inside = (over_mm < size_mm || size_mm == smallest_mm) && size_mm <= to_mm;
        inside.then(|| row.get(column)?.parse().ok()).flatten()
    })
}

#[cfg(test)]
mod tests {
    use super::general_tolerance_mm;

    /// ISO 2768-1:1989, table 1, linear dimensions.
    #[test]
    fn linear_classes_match_iso_2768_1() {
        let table = [
            ('f', 0.5, Some(0.05)),
            ('f', 3.0, Some(0.05)),
            ('f', 25.0, Some(0.1)),
            ('f', 120.0, Some(0.15)),
            ('f', 2000.0, Some(0.5)),
            ('f', 2001.0, None),
            ('m', 2.0, Some(0.1)),
            ('m', 30.0, Some(0.2)),
            ('m', 30.1, Some(0.3)),
            ('m', 400.0, Some(0.5)),
            ('m', 4000.0, Some(2.0)),
            ('c', 5.0, Some(0.3)),
            ('c', 1000.0, Some(2.0)),
            ('v', 2.0, None),
            ('v', 5.0, Some(0.5)),
            ('v', 4000.0, Some(8.0)),
            ('m', 0.4, None),
            ('m', 4001.0, None),
            ('x', 25.0, None),
        ];
        for (class, size_mm, deviation_mm) in table {
            assert_eq!(
                general_tolerance_mm(class, size_mm),
                deviation_mm,
                "{class} {size_mm}"
            );
        }
    }
}
