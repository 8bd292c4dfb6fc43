//! A document: what is said, in which order, and what each piece of it is. It is built once; the writers of HTML and PDF decide
//! only how it looks.

/// A piece of running text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Inline {
    /// Plain words.
    Text(String),
    /// Words that matter.
    Strong(String),
    /// A key of a case file, a command, a file.
    Code(String),
    /// A place in the document.
    Link {
        /// Id of the place.
        to: String,
        /// What is shown.
        text: String,
    },
    /// A source, by its number in the list.
    Cite(usize),
}

/// Running text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Line(pub Vec<Inline>);

impl Line {
    /// Words in which keys and commands stand between backticks.
    pub fn of(text: &str) -> Self {
        let mut out = Vec::new();
        for (i, piece) in text.split('`').enumerate() {
            // An odd last backtick has no partner and is an ordinary character.
            let code = i % 2 == 1 && (i + 1 < text.split('`').count());
            match (piece.is_empty(), code) {
                (true, _) => {}
                (_, true) => out.push(Inline::Code(piece.to_owned())),
                (_, false) if i % 2 == 1 => out.push(Inline::Text(format!("`{piece}"))),
                _ => out.push(Inline::Text(piece.to_owned())),
            }
        }
        Self(out)
    }
    /// Words that matter.
    pub fn strong(text: &str) -> Self {
        Self(vec![Inline::Strong(text.to_owned())])
    }
    /// The same with more behind it.
    #[must_use]
    pub fn then(mut self, more: Self) -> Self {
        self.0.extend(more.0);
        self
    }
    /// The same with sources behind it.
    #[must_use]
    pub fn citing(mut self, numbers: &[usize]) -> Self {
        if !numbers.is_empty() {
            self.0.push(Inline::Text("\u{a0}".to_owned()));
        }
        self.0.extend(numbers.iter().map(|n| Inline::Cite(*n)));
        self
    }
    /// The words alone.
    pub fn words(&self) -> String {
        let word = |i: &Inline| match i {
            Inline::Text(t) | Inline::Strong(t) | Inline::Code(t) | Inline::Link { text: t, .. } => t.clone(),
            Inline::Cite(n) => format!("[{n}]"),
        };
        self.0.iter().map(word).collect()
    }
}

impl From<&str> for Line {
    fn from(text: &str) -> Self {
        Self::of(text)
    }
}

/// What a box is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoxKind {
    /// What makes an answer doubtful.
    Doubt,
    /// What can hurt.
    Caution,
    /// What should be known.
    Note,
}

/// A number that matters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyNumber {
    /// What it is.
    pub name: String,
    /// The number with its unit and, where there is one, its tolerance.
    pub value: String,
    /// What to think of it.
    pub note: String,
}

/// A figure in the document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Its id, `figure-3`.
    pub id: String,
    /// Its number.
    pub number: usize,
    /// File name without ending, `verdict-shape`.
    pub file: String,
    /// A complete SVG file.
    pub svg: String,
    /// For readers who do not see it.
    pub alt: String,
    /// What stands under it.
    pub caption: String,
}

/// A table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Grid {
    /// What it holds.
    pub caption: String,
    /// Whether the heading over it says so already, so that the caption need not be seen.
    pub quiet: bool,
    /// Heads of the columns.
    pub heads: Vec<String>,
    /// Rows; the first cell of each is its head.
    pub rows: Vec<Vec<Line>>,
    /// Widths of the columns relative to each other.
    pub widths: Vec<u32>,
}

/// A piece of a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Block {
    /// A heading: 2 begins a chapter, 3 a section of it.
    Heading {
        /// 2 or 3.
        level: u8,
        /// Where links lead.
        id: String,
        /// Its words.
        text: String,
    },
    /// A paragraph.
    Text(Line),
    /// Items.
    List(Vec<Line>),
    /// Names and what belongs to them.
    Facts(Vec<(String, Line)>),
    /// A table.
    Table(Grid),
    /// A figure.
    Figure(Box<Picture>),
    /// A box that stands out.
    Aside {
        /// What for.
        kind: BoxKind,
        /// Its title.
        title: String,
        /// Its items.
        items: Vec<Line>,
    },
    /// The numbers that matter.
    Numbers(Vec<KeyNumber>),
    /// Text of a file or a command, line by line.
    Code {
        /// What it is.
        title: String,
        /// The text.
        text: String,
    },
    /// A table to be filled in by hand.
    Blank {
        /// What it is for.
        title: String,
        /// Heads of the columns.
        heads: Vec<String>,
        /// Empty rows.
        rows: usize,
    },
    /// Files that the document carries.
    Files(Vec<Carried>),
    /// The list of sources.
    Sources(Vec<Entry>),
}

/// A file that the document carries.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Carried {
    /// File name.
    pub name: String,
    /// Media type.
    pub media: &'static str,
    /// What it is.
    pub what: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A source in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its number.
    pub number: usize,
    /// Where links lead, `source-3`.
    pub id: String,
    /// As printed.
    pub text: String,
    /// What it is used for here.
    pub used_for: String,
}

/// A document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Document {
    /// Its title.
    pub title: String,
    /// What kind of document it is, above the title.
    pub kind: String,
    /// The answer in one sentence.
    pub answer: String,
    /// Date as given; none is taken from a clock.
    pub date: Option<String>,
    /// Program and version, case digest: at the foot of every page.
    pub made_by: String,
    /// Everything else.
    pub blocks: Vec<Block>,
    /// The report's data, carried in the page for whoever makes it again.
    pub data: String,
    /// Whether it must fit on one page: figures shrink until it does, and there are no contents.
    pub one_page: bool,
}

impl Document {
    /// Chapters: id and words of every heading of level 2.
    pub fn chapters(&self) -> impl Iterator<Item = (&str, &str)> {
        self.blocks.iter().filter_map(|b| match b {
            Block::Heading { level: 2, id, text } => Some((id.as_str(), text.as_str())),
            _ => None,
        })
    }
    /// Its figures.
    pub fn pictures(&self) -> impl Iterator<Item = &Picture> {
        self.blocks.iter().filter_map(|b| match b {
            Block::Figure(p) => Some(&**p),
            _ => None,
        })
    }
}
