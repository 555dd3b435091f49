//! What sections and tables are made of.

use super::entries::{AlikeFindings, QuestionEntry};
use crate::cancel::checkpoint;
use crate::id::PassNo;
use crate::message::{Lengths, Message, QuantityValue, UnitSymbol, message};

/// A set of formats.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) struct Outlet(u8);

impl Outlet {
    pub(in crate::report) const TERMINAL: Self = Self(1);
    pub(in crate::report) const JOB_SHEET: Self = Self(2);
    /// The drawing sheet.
    pub(in crate::report) const SHEET: Self = Self(4);
    pub(in crate::report) const NONE: Self = Self(0);
    pub(in crate::report) const ALL: Self = Self(7);
    /// Where there is room for words and many rows.
    pub(in crate::report) const WIDE: Self = Self(3);

    pub(in crate::report) const fn holds(self, one: Self) -> bool {
        self.0 & one.0 != 0
    }
}

/// A part of a report under a heading of its own.
#[derive(Debug)]
pub(in crate::report) struct Section {
    /// Stands for it in links and styles.
    pub(in crate::report) id: String,
    pub(in crate::report) title: Message,
    /// What the heading says of it; empty where nothing.
    pub(in crate::report) note: Message,
    pub(in crate::report) layout: SectionLayout,
    parts: Vec<(Outlet, SectionPart)>,
}

/// How a section lies on paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum SectionLayout {
    Flowing,
    /// Not broken over two pages.
    Whole,
    /// In small letters.
    Compact,
    /// Across a page of its own, since it holds a wide picture.
    Across,
    /// At the top of a page.
    PageTop,
    /// For the office: in columns, with its neighbours that are so too.
    Office,
}

/// How loud words are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Tone {
    Plain,
    Quiet,
    Strong,
    /// Has to be seen before anything is cut or offered.
    Alarm,
}

/// A piece of a section.
#[derive(Debug)]
pub(in crate::report) enum SectionPart {
    Heading(Message),
    Words(Tone, Message),
    Pairs(Vec<Pair>),
    List(Vec<Message>),
    /// What is written in by hand.
    Blanks(Vec<Message>),
    Table(ViewTable),
    Findings(Vec<AlikeFindings>),
    Questions(Vec<QuestionEntry>),
    /// A picture, as SVG.
    Picture(String),
    /// Where the drawing sheet lies.
    DrawingSheet,
    /// Opened on demand: what it is, and what is in it.
    Folded(Message, Vec<Self>),
}

/// A name with what it is.
#[derive(Debug)]
pub(in crate::report) struct Pair {
    pub(in crate::report) name: Message,
    pub(in crate::report) value: Message,
}

/// Rows of a kind.
#[derive(Debug)]
pub(in crate::report) struct ViewTable {
    pub(in crate::report) columns: Vec<ViewColumn>,
    pub(in crate::report) rows: Vec<ViewRow>,
    /// How many rows there are, also those that are not listed.
    total: usize,
    listed: RowLimits,
}

/// Most rows that a format lists.
#[derive(Clone, Copy, Debug)]
struct RowLimits {
    terminal: usize,
    elsewhere: usize,
}

#[derive(Clone, Debug)]
pub(in crate::report) struct ViewColumn {
    head: &'static str,
    pub(in crate::report) unit: UnitSymbol,
    pub(in crate::report) kind: CellKind,
    on: Outlet,
}

/// What the cells of a column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum CellKind {
    /// Names the row.
    Name,
    Words,
    Number,
    /// A number with what it may be.
    Band,
}

#[derive(Debug)]
pub(in crate::report) struct ViewRow {
    pub(in crate::report) cells: Vec<ViewCell>,
    /// It adds up what stands above it.
    pub(in crate::report) is_sum: bool,
}

#[derive(Clone, Debug)]
pub(in crate::report) enum ViewCell {
    /// Not known.
    Unknown,
    Words(Message),
    Quantity(QuantityValue),
    /// The line of a pass, of so many, as it is drawn.
    PassLine {
        pass: PassNo,
        of: usize,
    },
}

/// A column of rows that are not made yet: its head, where it is shown, and what it says of a row.
pub(in crate::report) struct ColumnOf<'a, R> {
    column: ViewColumn,
    cell: Box<dyn Fn(&R) -> ViewCell + 'a>,
}

impl Section {
    pub(in crate::report) fn new(id: impl Into<String>, title: impl Into<Message>) -> Self {
        Self {
            id: id.into(),
            title: title.into(),
            note: Message::default(),
            layout: SectionLayout::Flowing,
            parts: Vec::new(),
        }
    }

    #[must_use]
    pub(in crate::report) fn note(mut self, note: impl Into<Message>) -> Self {
        self.note = note.into();
        self
    }

    #[must_use]
    pub(in crate::report) const fn layout(mut self, layout: SectionLayout) -> Self {
        self.layout = layout;
        self
    }

    #[must_use]
    pub(in crate::report) fn with(self, part: SectionPart) -> Self {
        self.with_on(Outlet::ALL, part)
    }

    #[must_use]
    pub(in crate::report) fn with_on(mut self, on: Outlet, part: SectionPart) -> Self {
        if !part.is_empty() {
            self.parts.push((on, part));
        }
        self
    }

    /// Adds a picture, where there is one and pictures are shown.
    #[must_use]
    pub(in crate::report) fn with_picture(self, picture: Option<String>) -> Self {
        match picture {
            Some(picture) => self.with_on(Outlet::JOB_SHEET, SectionPart::Picture(picture)),
            None => self,
        }
    }

    #[must_use]
    pub(in crate::report) fn words(self, tone: Tone, words: impl Into<Message>) -> Self {
        self.with(SectionPart::Words(tone, words.into()))
    }

    /// Returns its parts in a format.
    pub(in crate::report) fn parts(&self, outlet: Outlet) -> impl Iterator<Item = &SectionPart> {
        let shown = self.parts.iter().filter(move |(on, _)| on.holds(outlet));
        shown.map(|(_, part)| part)
    }

    pub(in crate::report) fn is_empty(&self) -> bool {
        self.parts.is_empty() && self.note.is_empty()
    }
}

impl SectionPart {
    fn is_empty(&self) -> bool {
        match self {
            Self::Heading(words) | Self::Words(_, words) => words.is_empty(),
            Self::Pairs(pairs) => pairs.is_empty(),
            Self::List(items) | Self::Blanks(items) => items.is_empty(),
            Self::Table(table) => table.rows.is_empty(),
            Self::Findings(groups) => groups.is_empty(),
            Self::Questions(entries) => entries.is_empty(),
            Self::Picture(_) | Self::DrawingSheet => false,
            Self::Folded(_, parts) => parts.is_empty(),
        }
    }

    /// Makes a list of at most so many items, with a last one that says how many more there are.
    pub(in crate::report) fn list_of(items: impl IntoIterator<Item = Message>, most: usize) -> Self {
        let mut items = items.into_iter();
        let mut listed: Vec<Message> = items.by_ref().take(most).collect();
        listed.extend(more(items.count()));
        Self::List(listed)
    }
}

/// `… and 3 more; the JSON lists all`; nothing of none.
pub(super) fn more(count: usize) -> Option<Message> {
    (count > 0).then(|| message!("… and {} more; the JSON lists all", count))
}

impl Pair {
    pub(in crate::report) fn new(name: impl Into<Message>, value: impl Into<Message>) -> Self {
        Self {
            name: name.into(),
            value: value.into(),
        }
    }

    /// Makes one of a value that may be missing.
    pub(in crate::report) fn known(name: impl Into<Message>, value: Option<QuantityValue>) -> Self {
        let value = value.map_or_else(|| "not given".into(), |value| message!("{}", value));
        Self::new(name, value)
    }
}

impl ViewTable {
    /// Makes a table of rows, as many of `total` as any format lists.
    pub(in crate::report) fn new<R>(
        columns: Vec<ColumnOf<'_, R>>,
        rows: impl IntoIterator<Item = R>,
        listed: (usize, usize),
    ) -> Self {
        let (terminal, elsewhere) = listed;
        let mut rows = rows.into_iter();
        let made = rows.by_ref().take(terminal.max(elsewhere));
        let made: Vec<ViewRow> = made
            .map(|row| {
                checkpoint();
                ViewRow {
                    cells: columns.iter().map(|column| (column.cell)(&row)).collect(),
                    is_sum: false,
                }
            })
            .collect();
        Self {
            total: made.len() + rows.count(),
            columns: columns.into_iter().map(|column| column.column).collect(),
            rows: made,
            listed: RowLimits { terminal, elsewhere },
        }
    }

    /// Adds a row for what the rows come to.
    pub(in crate::report) fn add_sum(&mut self, cells: Vec<ViewCell>) {
        self.rows.push(ViewRow { cells, is_sum: true });
        self.total += 1;
    }

    /// Returns the columns of a format, with their places in a row.
    pub(in crate::report) fn columns(&self, outlet: Outlet) -> Vec<(usize, &ViewColumn)> {
        let columns = self.columns.iter().enumerate();
        columns.filter(|(_, column)| column.on.holds(outlet)).collect()
    }

    /// Returns the rows that a format lists.
    pub(in crate::report) fn rows(&self, outlet: Outlet) -> &[ViewRow] {
        let most = if outlet == Outlet::TERMINAL {
            self.listed.terminal
        } else {
            self.listed.elsewhere
        };
        &self.rows[..most.min(self.rows.len())]
    }

    /// Returns what is said of the rows that are not listed; nothing where all are.
    pub(in crate::report) fn rest(&self, shown: usize) -> Option<Message> {
        more(self.total - shown)
    }
}

/// Few rows for a screen, all that a job sheet can bear.
pub(in crate::report) const SHORT: (usize, usize) = (12, 200);
/// As many rows as can be looked through.
pub(in crate::report) const LONG: (usize, usize) = (40, 200);

impl ViewColumn {
    /// Returns its head with the unit, which stands between the words where the head leaves a place.
    pub(in crate::report) fn head(&self, lengths: Lengths) -> String {
        let symbol = self.unit.symbol(lengths);
        if self.head.contains("{}") {
            return self.head.replace("{}", symbol);
        }
        format!("{} {symbol}", self.head).trim().to_owned()
    }

    /// Whether its cells are set to the right.
    pub(in crate::report) fn is_number(&self) -> bool {
        matches!(self.kind, CellKind::Number | CellKind::Band)
    }
}

impl<'a, R> ColumnOf<'a, R> {
    fn new<C: Into<ViewCell>>(
        head: &'static str,
        unit: UnitSymbol,
        kind: CellKind,
        cell: impl Fn(&R) -> C + 'a,
    ) -> Self {
        Self {
            column: ViewColumn {
                head,
                unit,
                kind,
                on: Outlet::ALL,
            },
            cell: Box::new(move |row| cell(row).into()),
        }
    }

    /// Makes a column of words.
    pub(in crate::report) fn words<C: Into<ViewCell>>(
        head: &'static str,
        cell: impl Fn(&R) -> C + 'a,
    ) -> Self {
        Self::new(head, UnitSymbol::Same(""), CellKind::Words, cell)
    }

    /// Makes a column that names the row.
    pub(in crate::report) fn name<C: Into<ViewCell>>(
        head: &'static str,
        cell: impl Fn(&R) -> C + 'a,
    ) -> Self {
        Self::new(head, UnitSymbol::Same(""), CellKind::Name, cell)
    }

    /// Makes a column of numbers in a unit.
    pub(in crate::report) fn number<C: Into<ViewCell>>(
        head: &'static str,
        unit: UnitSymbol,
        cell: impl Fn(&R) -> C + 'a,
    ) -> Self {
        Self::new(head, unit, CellKind::Number, cell)
    }

    /// Makes a column of numbers with what they may be.
    pub(in crate::report) fn band<C: Into<ViewCell>>(
        head: &'static str,
        unit: UnitSymbol,
        cell: impl Fn(&R) -> C + 'a,
    ) -> Self {
        Self::new(head, unit, CellKind::Band, cell)
    }

    /// With a unit that the numbers in its words have.
    #[must_use]
    pub(in crate::report) const fn of_unit(mut self, unit: UnitSymbol) -> Self {
        self.column.unit = unit;
        self
    }

    /// In these formats only.
    #[must_use]
    pub(in crate::report) const fn on(mut self, on: Outlet) -> Self {
        self.column.on = on;
        self
    }
}

impl ViewCell {
    /// Returns its text; the line of a pass is drawn and has none.
    pub(in crate::report) fn text(&self, lengths: Lengths) -> String {
        match self {
            Self::Unknown => "–".to_owned(),
            Self::Words(words) => words.shown(lengths),
            Self::Quantity(value) => value.cell(lengths),
            Self::PassLine { .. } => String::new(),
        }
    }
}

impl From<QuantityValue> for ViewCell {
    fn from(value: QuantityValue) -> Self {
        Self::Quantity(value)
    }
}

impl From<usize> for ViewCell {
    fn from(count: usize) -> Self {
        Self::Words(message!("{}", count))
    }
}

impl From<Message> for ViewCell {
    fn from(words: Message) -> Self {
        Self::Words(words)
    }
}

impl From<String> for ViewCell {
    fn from(words: String) -> Self {
        Self::Words(words.into())
    }
}

impl From<&str> for ViewCell {
    fn from(words: &str) -> Self {
        Self::Words(words.into())
    }
}

impl<T: Into<Self>> From<Option<T>> for ViewCell {
    fn from(cell: Option<T>) -> Self {
        cell.map_or(Self::Unknown, Into::into)
    }
}
