package org.carrybeat.phone

import android.os.BatteryManager
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Test

/** Power, light and movement. */
class AroundTest {
    @Test
    fun `per cent of a battery`() {
        assertEquals(15, Power.pct(15, 100))
        assertEquals(50, Power.pct(100, 200))
        assertNull("not told", Power.pct(-1, 100))
        assertNull(Power.pct(5, 0))
    }

    @Test
    fun `a full battery on its cable counts as charging`() {
        assertTrue(Power.isCharging(BatteryManager.BATTERY_STATUS_CHARGING))
        assertTrue(Power.isCharging(BatteryManager.BATTERY_STATUS_FULL))
        assertFalse(Power.isCharging(BatteryManager.BATTERY_STATUS_DISCHARGING))
        assertFalse(Power.isCharging(BatteryManager.BATTERY_STATUS_NOT_CHARGING))
    }

    @Test
    fun `a phone saves by its mode, or by deep sleep if the app is not exempt from it`() {
        assertFalse(Power.isSaving(mode = false, isIdle = false, isExempt = false))
        assertTrue(Power.isSaving(mode = true, isIdle = false, isExempt = true))
        assertTrue(Power.isSaving(mode = false, isIdle = true, isExempt = false))
        assertFalse(Power.isSaving(mode = false, isIdle = true, isExempt = true))
    }

    @Test
    fun `light is told when the eye sees another one`() {
        val steps = LightSteps()
        val told = listOf(0f, 1f, 300f, 310f, 370f, 400f, 60f, 0f, -1f, Float.NaN, 500_000f).map(steps::step)
        assertEquals(listOf(0, null, 300, null, null, 400, 60, 0, null, null, 200_000), told)
    }

    @Test
    fun `a run that begins is told the light`() {
        val steps = LightSteps()
        assertEquals(300, steps.step(300f))
        steps.reset()
        assertEquals(300, steps.step(300f))
    }

    @Test
    fun `a phone at rest on its back`() {
        val told = Movement.reading(floatArrayOf(-0.12f, 0.04f, 9.807f), 1_000_000_000, 1_005_900_000)
        assertEquals(Examples.news.last(), told?.let(Examples::json))
    }

    @Test
    fun `a broken reading is none`() {
        assertNull(Movement.reading(floatArrayOf(1f, 2f), 0, 0))
        assertNull(Movement.reading(floatArrayOf(1f, Float.NaN, 2f), 0, 0))
    }
}
