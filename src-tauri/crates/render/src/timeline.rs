/// Run time to frames of the stream: a straight line.
///
/// A tick is one period of the sample rate, counted on the run clock; a frame is one sample of the
/// stream. The slope corrects the drift between the two clocks without a jump.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Timeline {
    frame0: u64,
    tick0: u64,
    ppm: i32,
}

impl Timeline {
    /// The steepest correction, parts per million.
    pub const MOST_PPM: i32 = 1000;

    /// Run time is the stream's own time: for a file.
    pub const IDENTITY: Self = Self {
        frame0: 0,
        tick0: 0,
        ppm: 0,
    };

    /// Tick `tick0` falls on frame `frame0`; from there on a million ticks take `1_000_000 + ppm`
    /// frames. `ppm` is limited to [`Self::MOST_PPM`] either way.
    pub fn new(frame0: u64, tick0: u64, ppm: i32) -> Self {
        Self {
            frame0,
            tick0,
            ppm: ppm.clamp(-Self::MOST_PPM, Self::MOST_PPM),
        }
    }

    /// The slope, parts per million.
    pub fn ppm(&self) -> i32 {
        self.ppm
    }

    /// Frame on which tick `tick` falls, rounded down; 0 for what lies before the stream.
    pub fn frame(&self, tick: u64) -> u64 {
        let on = i128::from(tick).saturating_sub(i128::from(self.tick0));
        let bend = on.saturating_mul(i128::from(self.ppm)).div_euclid(MILLION);
        unsigned(
            i128::from(self.frame0)
                .saturating_add(on)
                .saturating_add(bend),
        )
    }

    /// Tick that is current on frame `frame`, rounded down; 0 for what lies before the run.
    pub fn tick(&self, frame: u64) -> u64 {
        let on = i128::from(frame).saturating_sub(i128::from(self.frame0));
        let slope = MILLION.saturating_add(i128::from(self.ppm));
        let ticks = on
            .saturating_mul(MILLION)
            .checked_div_euclid(slope)
            .unwrap_or(0);
        unsigned(i128::from(self.tick0).saturating_add(ticks))
    }
}

const MILLION: i128 = 1_000_000;

fn unsigned(n: i128) -> u64 {
    u64::try_from(n.max(0)).unwrap_or(u64::MAX)
}
