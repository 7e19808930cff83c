package org.carrybeat.phone

import android.hardware.Sensor
import android.hardware.SensorEvent
import android.hardware.SensorEventListener
import android.hardware.SensorManager
import android.os.Handler
import kotlin.math.roundToInt

/** How bright it is around the phone, while a run goes on. A phone without such a sensor tells nothing. */
internal class Light(private val sensors: SensorManager, private val handler: Handler, private val post: Post) :
    SensorEventListener {
    private val steps = LightSteps()
    private var isOn = false

    fun hold() {
        if (isOn) return
        val sensor = sensors.getDefaultSensor(Sensor.TYPE_LIGHT) ?: return
        isOn = sensors.registerListener(this, sensor, EVERY_US, handler)
    }

    fun letGo() {
        if (isOn) sensors.unregisterListener(this)
        isOn = false
        steps.reset()
    }

    override fun onSensorChanged(event: SensorEvent) {
        val lux = event.values.firstOrNull() ?: return
        steps.step(lux)?.let { post.tell(News.light(it)) }
    }

    override fun onAccuracyChanged(sensor: Sensor?, accuracy: Int) = Unit

    private companion object {
        /** A hint only; the system may read more often. */
        const val EVERY_US = 1_000_000
    }
}

/** Leaves out what is hardly another light: the eye sees ratios. Calls nothing of the system. */
internal class LightSteps {
    private var told: Int? = null

    fun reset() {
        told = null
    }

    /** The lux to tell, `null` if it is not worth it. */
    fun step(lux: Float): Int? {
        if (!lux.isFinite() || lux < 0) return null
        val now = lux.coerceAtMost(MOST).roundToInt()
        val before = told
        val isSame = before != null && now * 4 <= before * 5 + FEW && before * 4 <= now * 5 + FEW
        if (isSame) return null
        told = now
        return now
    }

    private companion object {
        /** Brighter than any day. */
        const val MOST = 200_000f

        /** In the dark a quarter more is one lux. */
        const val FEW = 8
    }
}
