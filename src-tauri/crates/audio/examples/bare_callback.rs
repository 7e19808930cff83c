//! A stream whose callback writes zeros and does nothing else: what the system calls and the time
//! of our own callback are compared with.
//!
//! `bare_callback [SECONDS] [PERIOD]`
use std::{error::Error, sync::mpsc, time::Duration};

use cpal::{
    BufferSize, StreamConfig,
    traits::{DeviceTrait, HostTrait, StreamTrait},
};

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let seconds: u64 = args.next().map_or(Ok(10), |a| a.parse())?;
    let period: u32 = args.next().map_or(Ok(512), |a| a.parse())?;
    let device = cpal::default_host()
        .default_output_device()
        .ok_or("no sound output")?;
    let config = StreamConfig {
        buffer_size: BufferSize::Fixed(period),
        ..device.default_output_config()?.config()
    };
    let stream = device.build_output_stream(
        config,
        |data: &mut [f32], _: &cpal::OutputCallbackInfo| data.fill(0.0),
        |_| {},
        None,
    )?;
    stream.play()?;
    let (_keep, never) = mpsc::channel::<()>();
    never.recv_timeout(Duration::from_secs(seconds)).ok();
    Ok(())
}
