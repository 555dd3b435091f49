//! Changes drawings as those change that are drawn, saved, and drawn on: what could be read still can.

/// A tag: group code and value, as they stand.
type Tag = (String, String);

/// Random numbers, the same for the same seed (SplitMix64: G. L. Steele, D. Lea and C. H. Flood, OOPSLA 2014).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())]
    }
}

/// A drawing of tags with its entities apart.
struct Entities {
    before: Vec<Tag>,
    list: Vec<Vec<Tag>>,
    after: Vec<Tag>,
}

impl Entities {
    fn of(text: &str) -> Option<Self> {
        let lines: Vec<&str> = text.lines().collect();
        let tags: Vec<Tag> = lines
            .as_chunks::<2>()
            .0
            .iter()
            .map(|[code, value]| (code.trim().to_owned(), (*value).to_owned()))
            .collect();
        let is = |tag: &Tag, code: &str, value: &str| tag.0 == code && tag.1.trim() == value;
        let first = tags.iter().position(|tag| is(tag, "2", "ENTITIES"))? + 1;
        let last = first + tags[first..].iter().position(|tag| is(tag, "0", "ENDSEC"))?;
        let mut list: Vec<Vec<Tag>> = Vec::new();
        for tag in &tags[first..last] {
            if tag.0 == "0" {
                list.push(Vec::new());
            }
            list.last_mut()?.push(tag.clone());
        }
        (!list.is_empty()).then(|| Self {
            before: tags[..first].to_vec(),
            list,
            after: tags[last..].to_vec(),
        })
    }

    fn text(self) -> String {
        let all = self
            .before
            .into_iter()
            .chain(self.list.into_iter().flatten())
            .chain(self.after);
        all.fold(String::new(), |mut text, (code, value)| {
            text.extend([code.as_str(), "\n", value.as_str(), "\n"]);
            text
        })
    }

    fn change(&mut self, random: &mut Random) {
        const STEPS_MM: [f64; 12] = [
            1e-9, 1e-6, -1e-6, 1e-4, 1e-3, -1e-3, 0.02, 0.1, -0.26, 1.0, 10.0, 200.0,
        ];
        let (i, j) = (random.below(self.list.len()), random.below(self.list.len()));
        match random.below(12) {
            0 if self.list.len() > 1 => drop(self.list.remove(i)),
            1 => self.list.insert(j, self.list[i].clone()),
            2 => {
                let mut copy = self.list[i].clone();
                let steps = [random.one_of(&STEPS_MM), random.one_of(&STEPS_MM)];
                move_all(&mut copy, |code, value| match code {
                    10..=18 => value + steps[0],
                    20..=28 => value + steps[1],
                    _ => value,
                });
                self.list.insert(j, copy);
            }
            3 => self.list.swap(i, j),
            4 | 5 => {
                let step = random.one_of(&STEPS_MM);
                one_number(&mut self.list[i], random, |value| value + step);
            }
            6 => self.meet(i, j),
            7 => {
                let steps = random.one_of(&[1e2, 1e3, 1e4, 1e6]);
                let places = |code, value: f64| {
                    if (10..=59).contains(&code) {
                        (value * steps).round() / steps
                    } else {
                        value
                    }
                };
                self.list.iter_mut().for_each(|entity| move_all(entity, places));
            }
            8 => one_number(&mut self.list[i], random, |value| -value),
            9 => {
                let factor = random.one_of(&[0.1, 0.5, 2.0, 10.0, 25.4]);
                let grown = |code, value| {
                    if (10..=40).contains(&code) {
                        value * factor
                    } else {
                        value
                    }
                };
                self.list.iter_mut().for_each(|entity| move_all(entity, grown));
            }
            10 => {
                let other = self.list[j]
                    .iter()
                    .find(|tag| tag.0 == "8")
                    .map(|tag| tag.1.clone());
                let names = ["0", "CUT", "CENTER", "HIDDEN", "START HOLES"];
                let name = other
                    .filter(|_| random.below(2) == 0)
                    .unwrap_or_else(|| random.one_of(&names).to_owned());
                if let Some(tag) = self.list[i].iter_mut().find(|tag| tag.0 == "8") {
                    tag.1 = name;
                }
            }
            _ => self.change_vertex(i, random),
        }
    }

    /// An end of one entity comes to that of another.
    fn meet(&mut self, i: usize, j: usize) {
        let all = |tags: &[Tag], code: &str| -> Vec<f64> {
            let same = tags.iter().filter(|tag| tag.0 == code);
            same.filter_map(|tag| tag.1.trim().parse().ok()).collect()
        };
        let (xs, ys) = (all(&self.list[j], "10"), all(&self.list[j], "20"));
        if let (Some(x), Some(y)) = (xs.first(), ys.first()) {
            for (code, value) in [("10", x), ("20", y)] {
                if let Some(tag) = self.list[i].iter_mut().find(|tag| tag.0 == code) {
                    tag.1 = value.to_string();
                }
            }
        }
    }

    /// A vertex less, or one twice.
    fn change_vertex(&mut self, i: usize, random: &mut Random) {
        let vertices: Vec<usize> = (0..self.list[i].len())
            .filter(|&k| self.list[i][k].0 == "10")
            .collect();
        if let [.., _, _] = vertices[..] {
            let k = random.below(vertices.len() - 1);
            let vertex: Vec<Tag> = self.list[i][vertices[k]..vertices[k + 1]].to_vec();
            if random.below(2) == 0 {
                self.list[i].drain(vertices[k]..vertices[k + 1]);
            } else {
                self.list[i].splice(vertices[k]..vertices[k], vertex);
            }
        }
    }
}

/// Puts another number in the place of each; its group code stands beside it.
fn move_all(tags: &mut [Tag], moved: impl Fn(u32, f64) -> f64) {
    for (code, value) in tags {
        if let (Ok(code), Ok(number)) = (code.parse(), value.trim().parse()) {
            let other = moved(code, number);
            if other != number {
                *value = other.to_string();
            }
        }
    }
}

/// Changes one coordinate, radius, bulge or angle.
fn one_number(tags: &mut [Tag], random: &mut Random, moved: impl Fn(f64) -> f64) {
    let is_length = |tag: &&mut Tag| tag.0.parse().is_ok_and(|code: u32| (10..=59).contains(&code));
    let mut lengths: Vec<&mut Tag> = tags.iter_mut().filter(is_length).collect();
    if lengths.is_empty() {
        return;
    }
    let i = random.below(lengths.len());
    if let Ok(number) = lengths[i].1.trim().parse() {
        lengths[i].1 = moved(number).to_string();
    }
}

/// The drawing with up to four changes; `None` where it has no entities that could be changed.
pub(crate) fn changed(text: &str, seed: u32) -> Option<String> {
    let mut random = Random(seed.into());
    let mut entities = Entities::of(text)?;
    for _ in 0..=random.below(4) {
        entities.change(&mut random);
    }
    Some(entities.text())
}
