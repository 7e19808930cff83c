package org.carrybeat.phone

import android.media.AudioAttributes
import android.os.Build
import android.os.VibrationAttributes
import android.os.VibrationEffect
import android.os.Vibrator

/**
 * The beat as vibration. Felt as an alarm's is: it goes on while the app is not in front, while power is saved and
 * while the phone is not to be disturbed.
 */
internal class Felt(private val vibrator: Vibrator) {
    /** In place of what was asked before; none ends it. */
    fun feel(pulses: List<FeltPulse>) {
        val wave = Waveform.of(pulses)
        if (wave == null) {
            vibrator.cancel()
            return
        }
        val effect =
            if (vibrator.hasAmplitudeControl()) {
                VibrationEffect.createWaveform(wave.timings, wave.amplitudes, ONCE)
            } else {
                VibrationEffect.createWaveform(wave.timings, ONCE)
            }
        if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.TIRAMISU) {
            vibrator.vibrate(effect, VibrationAttributes.createForUsage(VibrationAttributes.USAGE_ALARM))
        } else {
            val attributes = AudioAttributes.Builder()
            attributes.setUsage(AudioAttributes.USAGE_ALARM)
            @Suppress("DEPRECATION")
            vibrator.vibrate(effect, attributes.build())
        }
    }

    private companion object {
        const val ONCE = -1
    }
}
