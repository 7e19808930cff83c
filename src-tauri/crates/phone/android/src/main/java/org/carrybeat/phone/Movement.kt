package org.carrybeat.phone

import android.hardware.Sensor
import android.hardware.SensorEvent
import android.hardware.SensorEventListener
import android.hardware.SensorManager
import android.os.Handler
import android.os.SystemClock
import kotlin.math.roundToInt

/** How the phone is moved; off until it is wished for. */
internal class Movement(private val sensors: SensorManager, private val handler: Handler, private val post: Post) :
    SensorEventListener {
    private var isOn = false

    fun wish(on: Boolean) {
        if (on == isOn) return
        if (!on) {
            sensors.unregisterListener(this)
            isOn = false
            return
        }
        val sensor = sensors.getDefaultSensor(Sensor.TYPE_ACCELEROMETER) ?: return
        isOn = sensors.registerListener(this, sensor, SensorManager.SENSOR_DELAY_GAME, handler)
    }

    override fun onSensorChanged(event: SensorEvent) {
        reading(event.values, event.timestamp, SystemClock.elapsedRealtimeNanos())?.let(post::tell)
    }

    override fun onAccuracyChanged(sensor: Sensor?, accuracy: Int) = Unit

    companion object {
        /** From m/s² along the axes that Android and Rust share; `atNs` and `nowNs` count from the phone's start. */
        fun reading(values: FloatArray, atNs: Long, nowNs: Long): News? {
            if (values.size < 3 || values.take(3).any { !it.isFinite() }) return null
            val (x, y, z) = values.take(3).map { (it * 1000).roundToInt() }
            return News.motion((nowNs - atNs) / 1_000_000, x, y, z)
        }
    }
}
