package org.carrybeat.phone

import app.tauri.annotation.Command
import app.tauri.plugin.Invoke
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test

class ArgsTest {
    private fun <T> parse(command: String, args: String, kind: Class<T>): T =
        Invoke(1, command, 0, 1, { _, _ -> }, args, Examples.mapper).parseArgs(kind)

    private fun <T> parsed(command: String, kind: Class<T>): List<T> =
        Examples.args(command).map { parse(command, it, kind) }

    @Test
    fun `every command of the examples is one of the plugin`() {
        val known =
            PhonePlugin::class.java.declaredMethods
                .filter { it.isAnnotationPresent(Command::class.java) }
                .map { it.name }
                .toSet()
        assertEquals(known, Examples.commands + "listen")
    }

    @Test
    fun `a hold brings the notice's words and the volume`() {
        val (loud, quiet) = parsed("hold", HoldArgs::class.java)
        assertEquals(listOf("Runs", "A run goes on", "Tap to see it"), listOf(loud.channel, loud.title, loud.text))
        assertEquals(100, loud.volumePct)
        assertEquals("Toque para verlo", quiet.text)
        assertEquals(null, quiet.volumePct)
    }

    @Test
    fun `pulses come in their order`() {
        val (beats, none) = parsed("feel", FeelArgs::class.java)
        assertEquals(listOf(0L to 120L, 545L to 60L), beats.pulses.map { it.inMs to it.lenMs })
        assertTrue(none.pulses.isEmpty())
    }

    @Test
    fun `brightness, movement and share bring what they are about`() {
        assertEquals(listOf(30, null), parsed("brightness", BrightnessArgs::class.java).map { it.pct })
        assertEquals(listOf(true), parsed("motion", MotionArgs::class.java).map { it.on })
        assertEquals(listOf(true, false), parsed("screen", ScreenArgs::class.java).map { it.on })
        val app = "/data/user/0/org.carrybeat.app"
        assertEquals(
            listOf(listOf("$app/run.pdf"), listOf("$app/tables/marks.csv", "$app/tables/pauses.csv")),
            parsed("share", ShareArgs::class.java).map { it.paths },
        )
    }
}
