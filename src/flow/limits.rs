//! How much is taken in at most, so that no file and no slip of the pen takes all memory; and how to raise it.
//!
//! One factor for all of them: whoever has the memory for one has it for the others. Left out: what
//! would only be a mistake at any size (a scale of 1/100 000, a line of 1000 points), which stands where it is checked.

/// So many times the usual limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    times: u32,
}

impl Default for Limits {
    fn default() -> Self {
        Self { times: 1 }
    }
}

impl Limits {
    /// The way out that messages name.
    pub const RAISE: &'static str = "`--limits 4` allows four times as much";

    /// How often the usual limits may be taken.
    pub const MOST_TIMES: u32 = 1000;

    /// `None` for none and for more than [`Self::MOST_TIMES`].
    pub const fn times(times: u32) -> Option<Self> {
        if times >= 1 && times <= Self::MOST_TIMES { Some(Self { times }) } else { None }
    }

    /// By how much they are raised.
    pub const fn factor(self) -> u32 {
        self.times
    }

    /// Bytes of a spec, an artwork, a font or a table: 4 MiB. A hundred pages of YAML are a tenth of that.
    pub const fn file_bytes(self) -> u64 {
        (4 << 20) * self.times as u64
    }

    /// Bytes of a mesh: 256 MiB, five million triangles as binary STL.
    pub const fn mesh_bytes(self) -> u64 {
        (256 << 20) * self.times as u64
    }

    /// Scales of one spec, listed or measured: more than kits come in.
    pub const SCALES: usize = 60;

    /// Copies of one marking: 1000, and never more than a count may be, 10 000.
    pub const fn copies(self) -> u32 {
        if self.times > 10 { 10_000 } else { 1000 * self.times }
    }

    /// Pieces over all scales of a spec: 20 000, some gigabytes of outlines.
    pub const fn pieces(self) -> usize {
        20_000 * self.times as usize
    }

    /// Pixels of a picture: 2e9. An A3 sheet at 2400 dpi has 1.1e9; more is a slip of the pen.
    pub const fn pixels(self) -> u64 {
        2_000_000_000 * self.times as u64
    }
}
