//! The numbers that make an outline: each one a word the artist uses.

/// A parameter of the brow outline. Lengths mm in the side's own `(out, up)`, angles in degrees, the rest bare.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Param {
    /// Distance of the front's bottom corner from the centre line.
    FrontX,
    /// Height of the bottom of the bulb.
    BulbY,
    /// Thickness of the bulb.
    BulbT,
    /// Slant of the front edge; positive where its top lies further out.
    Slant,
    /// Softness of the front corners: 0 square, 1 round.
    Soft,
    /// Distance of the arch's highest point from the centre line.
    ArchX,
    /// Height of the top of the arch.
    ArchY,
    /// Thickness below the top of the arch.
    ArchT,
    /// Roundness of the arch: near 0 two straight lines meet, 1 wide and round.
    Round,
    /// Distance of the very end of the tail from the centre line.
    TailX,
    /// Height of the very end of the tail.
    TailY,
    /// Thickness of the tip.
    TipT,
    /// Bow of the upper edge between front and arch: 0 straight thread line, 1 full, below 0 hollow.
    UpTens,
    /// Sag of the underside at a third of the way from front to arch; positive hangs lower.
    LowDip,
    /// Bow of the upper edge between arch and tail.
    TailTens,
    /// Slope of the underside below the arch; positive lets its peak sit further out.
    Under,
    /// Fullness of the tail, −1 to 1.
    Full,
}

/// How a parameter is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Square millimetres.
    Mm2,
    /// Degrees.
    Degree,
    /// Per cent.
    Percent,
    /// A bare number.
    One,
}

impl Unit {
    /// The name in files and messages.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Unit::Mm => "mm",
            Unit::Mm2 => "mm2",
            Unit::Degree => "deg",
            Unit::Percent => "pct",
            Unit::One => "one",
        }
    }
}

/// What there is to know of a parameter. The one table from which sliders, schema, validation and fit are made.
#[derive(Clone, Copy, Debug)]
pub struct ParamInfo {
    /// Which one.
    pub param: Param,
    /// Name in files and messages.
    pub id: &'static str,
    /// Unit of value, range and step.
    pub unit: Unit,
    /// Least and greatest value accepted.
    pub range: (f64, f64),
    /// Step of the page's − and + buttons.
    pub step: f64,
    /// Median of 165 natural brows (model study on the Face Research Lab London Set, CC BY 4.0): the start value.
    pub natural_median: f64,
    /// Where the planned value usually starts if that differs from the natural median.
    pub planned_start: f64,
    /// One typical unit of change: scales steps in the fit and in the balance.
    pub scale: f64,
    /// True for the three that keep their default unless the artist overrides it.
    pub is_extra: bool,
}

/// Number of parameters of an outline.
pub const PARAM_COUNT: usize = 17;

const fn info(
    param: Param,
    id: &'static str,
    unit: Unit,
    range: (f64, f64),
    step: f64,
    natural_median: f64,
    scale: f64,
) -> ParamInfo {
    let is_extra = matches!(param, Param::UpTens | Param::TailTens | Param::Full);
    let planned_start = if matches!(param, Param::TipT) { 1.2 } else { natural_median };
    ParamInfo { param, id, unit, range, step, natural_median, planned_start, scale, is_extra }
}

impl Param {
    /// Every parameter with its name, unit, range and step, in the order of [`OutlineParams`]. Ranges contain
    /// every natural brow of the study with room to spare. A new parameter is added here and in the outline.
    pub const ALL: [ParamInfo; PARAM_COUNT] = [
        info(Param::FrontX, "front_x", Unit::Mm, (1.0, 30.0), 0.1, 13.5, 1.0),
        info(Param::BulbY, "bulb_y", Unit::Mm, (0.0, 35.0), 0.1, 15.6, 1.0),
        info(Param::BulbT, "bulb_t", Unit::Mm, (1.0, 16.0), 0.1, 5.8, 1.0),
        info(Param::Slant, "slant", Unit::Degree, (-40.0, 40.0), 1.0, 2.4, 10.0),
        info(Param::Soft, "soft", Unit::One, (0.0, 1.0), 0.05, 0.72, 0.4),
        info(Param::ArchX, "arch_x", Unit::Mm, (15.0, 60.0), 0.1, 38.3, 1.0),
        info(Param::ArchY, "arch_y", Unit::Mm, (5.0, 45.0), 0.1, 27.0, 1.0),
        info(Param::ArchT, "arch_t", Unit::Mm, (1.5, 16.0), 0.1, 7.3, 1.0),
        info(Param::Round, "round", Unit::One, (0.05, 1.0), 0.05, 0.5, 0.3),
        info(Param::TailX, "tail_x", Unit::Mm, (30.0, 85.0), 0.1, 55.3, 1.0),
        info(Param::TailY, "tail_y", Unit::Mm, (-5.0, 40.0), 0.1, 15.3, 1.0),
        info(Param::TipT, "tip_t", Unit::Mm, (0.3, 8.0), 0.1, 3.29, 0.5),
        info(Param::UpTens, "up_tens", Unit::One, (-1.0, 1.0), 0.05, 0.4, 0.3),
        info(Param::LowDip, "low_dip", Unit::Mm, (-2.5, 4.0), 0.1, 0.77, 0.3),
        info(Param::TailTens, "tail_tens", Unit::One, (-1.0, 1.0), 0.05, 0.6, 0.3),
        info(Param::Under, "under", Unit::Degree, (-40.0, 45.0), 1.0, 5.5, 10.0),
        info(Param::Full, "full", Unit::One, (-1.0, 1.0), 0.05, 0.0, 0.3),
    ];

    /// What there is to know of this parameter.
    #[must_use]
    pub const fn info(self) -> &'static ParamInfo {
        &Param::ALL[self as usize]
    }

    /// The parameter with this name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Param> {
        Param::ALL.iter().find(|info| info.id == id).map(|info| info.param)
    }
}

/// The numbers of one outline, in the order of [`Param::ALL`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutlineParams(pub [f64; PARAM_COUNT]);

impl OutlineParams {
    /// The median natural brow.
    #[must_use]
    pub fn natural_median() -> Self {
        OutlineParams(Param::ALL.map(|info| info.natural_median))
    }

    /// The value of one parameter.
    #[must_use]
    pub const fn get(&self, param: Param) -> f64 {
        self.0[param as usize]
    }

    /// The same outline with one parameter changed. Neither range nor validity is checked here.
    #[must_use]
    pub const fn with(mut self, param: Param, value: f64) -> Self {
        self.0[param as usize] = value;
        self
    }

    /// The first parameter that is not a number inside its range, if any.
    #[must_use]
    pub fn first_out_of_range(&self) -> Option<Param> {
        Param::ALL
            .iter()
            .find(|info| !(info.range.0..=info.range.1).contains(&self.get(info.param)))
            .map(|info| info.param)
    }

    /// Halfway between two outlines.
    #[must_use]
    pub fn mean(&self, other: &Self) -> Self {
        OutlineParams(std::array::from_fn(|i| 0.5 * (self.0[i] + other.0[i])))
    }
}
