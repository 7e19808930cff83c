//! Colours by role, one table a theme.

/// What a colour stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Behind everything.
    Ground,
    /// Words, outlines, patterns.
    Text,
    /// Lines that only lead the eye.
    Line,
    /// Compressions.
    Flow,
    /// Off the chest.
    Still,
    /// Device, cup, power.
    Kit,
    /// Drugs.
    Dose,
}

/// Red, green, blue.
pub type Rgb = [u8; 3];

/// A theme's colours. They are the screen's own (`ui/src/tokens.css`); words are always in the text colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Palette {
    /// Behind everything.
    pub ground: Rgb,
    /// Words, outlines, patterns.
    pub text: Rgb,
    /// Lines that only lead the eye.
    pub line: Rgb,
    /// Compressions.
    pub flow: Rgb,
    /// Off the chest.
    pub still: Rgb,
    /// Device, cup, power.
    pub kit: Rgb,
    /// Drugs.
    pub dose: Rgb,
    /// Outlines and patterns over fills: dark in every theme, for the fills are light.
    pub ink: Rgb,
}

impl Palette {
    /// The colour of a role.
    pub const fn of(&self, role: Role) -> Rgb {
        match role {
            Role::Ground => self.ground,
            Role::Text => self.text,
            Role::Line => self.line,
            Role::Flow => self.flow,
            Role::Still => self.still,
            Role::Kit => self.kit,
            Role::Dose => self.dose,
        }
    }

    /// The colour of outline and pattern over a fill: one that stands out from it.
    pub const fn over(&self, fill: Role) -> Rgb {
        match fill {
            Role::Ground | Role::Text => self.text,
            Role::Line | Role::Flow | Role::Still | Role::Kit | Role::Dose => self.ink,
        }
    }
}

const FLOW: Rgb = [0xA6, 0xDC, 0xFF];
const STILL: Rgb = [0xFF, 0xAC, 0x73];
const KIT: Rgb = [0x9F, 0x80, 0xFE];
const DOSE: Rgb = [0xF9, 0x16, 0x97];
const INK: Rgb = [0x0E, 0x12, 0x16];

/// The default theme.
pub const DAY_DARK: Palette = Palette {
    ground: INK,
    text: [0xF5, 0xF2, 0xEA],
    line: [0x7F, 0x8A, 0x94],
    flow: FLOW,
    still: STILL,
    kit: KIT,
    dose: DOSE,
    ink: INK,
};

/// In the sun.
pub const GLARE: Palette = Palette {
    ground: [0xFB, 0xFA, 0xF6],
    text: INK,
    line: [0x45, 0x4C, 0x53],
    flow: FLOW,
    still: STILL,
    kit: KIT,
    dose: DOSE,
    ink: INK,
};

/// At night.
pub const NIGHT: Palette = Palette {
    ground: [0, 0, 0],
    text: [0xAC, 0xAA, 0xA4],
    line: [0x7F, 0x8A, 0x94],
    flow: [0x73, 0x9A, 0xB3],
    still: [0xB3, 0x77, 0x4E],
    kit: [0x7F, 0x68, 0xCE],
    dose: [0xD4, 0x13, 0x82],
    ink: [0, 0, 0],
};

/// On paper: black on white, the fills light enough for patterns to be seen.
pub const PRINT: Palette = Palette {
    ground: [0xFF, 0xFF, 0xFF],
    text: [0, 0, 0],
    line: [0x59, 0x59, 0x59],
    flow: FLOW,
    still: STILL,
    kit: KIT,
    dose: DOSE,
    ink: [0, 0, 0],
};
