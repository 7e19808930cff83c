//! The sound device. All names of the device library are in this file.

use std::fmt;

use cpal::{
    BufferSize, DeviceDescription, DeviceType, ErrorKind, FromSample, I24, InterfaceType,
    OutputCallbackInfo, SampleFormat, SizedSample, StreamConfig, SupportedStreamConfig,
    traits::{DeviceTrait, HostTrait, StreamTrait},
};

#[cfg(test)]
use cpal::DeviceDescriptionBuilder;

/// Frames of a period; the library keeps two in its buffer. Measured through a sound server with
/// both cores busy: 512 frames underran several times in 15 s, 1024 never; 2048 are heard 62 ms
/// after they are asked for instead of 33 ms, too late for a first beat within 70 ms of a tap.
#[cfg(target_os = "linux")]
const PERIOD: Option<u32> = Some(1024);
/// The phones' own sizes: a fixed one is not tuned after an underrun on one of them and is not
/// kept by the other.
#[cfg(not(target_os = "linux"))]
const PERIOD: Option<u32> = None;

/// Frames filled in one go.
const CHUNK: usize = 256;

/// What became of a stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Trouble {
    /// An underrun; the stream goes on.
    Underrun,
    /// Worth knowing, nothing to do.
    Note,
    /// The stream is of no use any more.
    Broken,
}

/// What fills the stream. Both are called on the audio thread, or on a thread that may keep it
/// waiting: they must neither wait nor allocate.
pub(crate) trait Fill: Send + 'static {
    /// Fills `out` with the next samples. Times are on the stream's clock, in ns.
    fn fill(&mut self, out: &mut [f32]);
    /// Comes before the first [`Fill::fill`] of a block of `frames`.
    fn stamp(&mut self, frames: u32, now_ns: u64, heard_ns: u64);
}

/// Takes what the device reports.
pub(crate) trait Notice: Send + 'static {
    /// Takes one report.
    fn notice(&self, trouble: Trouble);
}

/// Why nothing is heard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DeviceError {
    /// There is no output device.
    None,
    /// The device refuses.
    Refused(String),
    /// The device wants samples that are no numbers of a common width.
    Format(String),
    /// The device is open, or was asked to open, and takes nothing.
    Silent,
}

impl fmt::Display for DeviceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::None => write!(f, "no sound output: connect or switch on a speaker"),
            Self::Refused(what) => write!(
                f,
                "the sound output cannot be opened: {what}; switch it on, or choose another output"
            ),
            Self::Format(what) => write!(
                f,
                "the sound output wants samples as {what}, allowed: floats of 32 or 64 bits, integers \
                 of 8 to 32 bits; choose another output, or another format for this one"
            ),
            Self::Silent => write!(
                f,
                "the sound output takes no sound: end what else uses it, or choose another output"
            ),
        }
    }
}

impl std::error::Error for DeviceError {}

/// The default output device and how it wants its samples.
pub(crate) struct Device {
    device: cpal::Device,
    config: SupportedStreamConfig,
}

/// An open stream; closed when dropped.
pub(crate) struct Stream(cpal::Stream);

impl Device {
    pub(crate) fn find() -> Result<Self, DeviceError> {
        let device = cpal::default_host()
            .default_output_device()
            .ok_or(DeviceError::None)?;
        let config = device
            .default_output_config()
            .map_err(|e| DeviceError::Refused(e.to_string()))?;
        Ok(Self { device, config })
    }

    /// Samples a second.
    pub(crate) fn hz(&self) -> u32 {
        self.config.sample_rate()
    }

    /// What it is and how it is connected, in the library's words; empty where the system does not tell, as on
    /// phones, whose default output it does not describe.
    pub(crate) fn kind(&self) -> String {
        self.device
            .description()
            .map_or_else(|_| String::new(), |d| kind_of(&d))
    }

    /// Opens the stream and lets it run. `make` gives what fills it; it is asked again if the
    /// device does not take the wanted period.
    pub(crate) fn open<F: Fill, N: Notice>(
        &self,
        mut make: impl FnMut() -> (F, N),
    ) -> Result<Stream, DeviceError> {
        let wanted = PERIOD.map(BufferSize::Fixed);
        let mut refused = None;
        for size in wanted.into_iter().chain([BufferSize::Default]) {
            let config = StreamConfig {
                buffer_size: size,
                ..self.config.config()
            };
            let (fill, notice) = make();
            let format = self.config.sample_format();
            #[expect(
                clippy::wildcard_enum_match_arm,
                reason = "the library's list is open; what is left are bit streams"
            )]
            let opened = match format {
                SampleFormat::F32 => self.build::<f32, _, _>(config, fill, notice),
                SampleFormat::F64 => self.build::<f64, _, _>(config, fill, notice),
                SampleFormat::I8 => self.build::<i8, _, _>(config, fill, notice),
                SampleFormat::I16 => self.build::<i16, _, _>(config, fill, notice),
                SampleFormat::I24 => self.build::<I24, _, _>(config, fill, notice),
                SampleFormat::I32 => self.build::<i32, _, _>(config, fill, notice),
                SampleFormat::U8 => self.build::<u8, _, _>(config, fill, notice),
                SampleFormat::U16 => self.build::<u16, _, _>(config, fill, notice),
                SampleFormat::U32 => self.build::<u32, _, _>(config, fill, notice),
                _ => return Err(DeviceError::Format(format.to_string())),
            };
            match opened.and_then(|s| s.play().map(|()| s)) {
                Ok(stream) => return Ok(Stream(stream)),
                Err(e) => refused = Some(e.to_string()),
            }
        }
        Err(DeviceError::Refused(refused.unwrap_or_default()))
    }

    fn build<T: SizedSample + FromSample<f32>, F: Fill, N: Notice>(
        &self,
        config: StreamConfig,
        mut fill: F,
        notice: N,
    ) -> Result<cpal::Stream, cpal::Error> {
        let channels = usize::from(config.channels.max(1));
        self.device.build_output_stream(
            config,
            move |data: &mut [T], info: &OutputCallbackInfo| {
                let stamp = info.timestamp();
                let frames = data.len().checked_div(channels).unwrap_or(0);
                fill.stamp(
                    u32::try_from(frames).unwrap_or(u32::MAX),
                    ns(stamp.callback.as_nanos()),
                    ns(stamp.playback.as_nanos()),
                );
                spread(&mut fill, data, channels);
            },
            move |error| notice.notice(trouble(error.kind())),
            None,
        )
    }
}

/// Never the name: a headset is often called after its owner.
fn kind_of(told: &DeviceDescription) -> String {
    let (kind, by) = (told.device_type(), told.interface_type());
    let kind = (kind != DeviceType::Unknown).then(|| kind.to_string());
    let by = (by != InterfaceType::Unknown).then(|| by.to_string());
    let words: Vec<String> = kind.into_iter().chain(by).collect();
    words.join(" ").to_lowercase()
}

/// Fills a block of frames: every channel sounds the same, so that no speaker of a device is silent.
fn spread<T: SizedSample + FromSample<f32>>(fill: &mut impl Fill, data: &mut [T], channels: usize) {
    let mut mono = [0.0_f32; CHUNK];
    for block in data.chunks_mut(CHUNK.saturating_mul(channels).max(1)) {
        let frames = block.len().checked_div(channels).unwrap_or(0);
        let Some(mono) = mono.get_mut(..frames) else {
            return;
        };
        fill.fill(mono);
        let mut frames = block.chunks_exact_mut(channels.max(1));
        for (frame, sample) in frames.by_ref().zip(mono) {
            frame.fill(T::from_sample(*sample));
        }
        // A part of a frame, which no device asks for, is silent.
        frames.into_remainder().fill(T::EQUILIBRIUM);
    }
}

impl Stream {
    /// The stream's clock, ns.
    pub(crate) fn now_ns(&self) -> u64 {
        ns(self.0.now().as_nanos())
    }
}

fn trouble(kind: ErrorKind) -> Trouble {
    #[expect(
        clippy::wildcard_enum_match_arm,
        reason = "the library's list is open; what is not known ends the stream"
    )]
    match kind {
        ErrorKind::Xrun => Trouble::Underrun,
        // While a sound server takes a stream up again after an underrun the backend reports
        // errors, and then goes on; if it does not, the silence is noticed.
        ErrorKind::RealtimeDenied | ErrorKind::DeviceChanged | ErrorKind::BackendError => {
            Trouble::Note
        }
        _ => Trouble::Broken,
    }
}

fn ns(nanos: u128) -> u64 {
    u64::try_from(nanos).unwrap_or(u64::MAX)
}

#[cfg(test)]
mod tests;
