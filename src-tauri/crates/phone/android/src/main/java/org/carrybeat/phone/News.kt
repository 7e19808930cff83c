package org.carrybeat.phone

/**
 * What is told to Rust, as it becomes JSON. `examples.json` of this crate has one of each, and the tests of both
 * sides read it.
 *
 * [key] names what a standing thing is about: the same again is not told twice. An event has none.
 */
class News private constructor(internal val key: String?, internal val json: Any) {
    companion object {
        fun call(on: Boolean) = switch("call", on)

        fun taken(on: Boolean) = switch("taken", on)

        fun route(to: String) = around("route", "to", to)

        fun volume(pct: Int) = around("volume", "pct", pct.coerceIn(0, 100))

        fun silent(on: Boolean) = switch("silent", on)

        fun saving(on: Boolean) = switch("saving", on)

        fun held(on: Boolean) = switch("held", on)

        fun lit(on: Boolean) = switch("lit", on)

        fun locked(on: Boolean) = switch("locked", on)

        fun front(on: Boolean) = switch("front", on)

        fun page(on: Boolean) = switch("page", on)

        fun battery(pct: Int, charging: Boolean) =
            News("battery", mapOf("battery" to mapOf("pct" to pct.coerceIn(0, 100), "charging" to charging)))

        fun light(lux: Int) = News("light", mapOf("light" to mapOf("lux" to lux.coerceAtLeast(0))))

        /** Start was asked for, so long before this is told; by the held key, or by what is there for nothing else. */
        fun begin(agoMs: Long, byKey: Boolean) =
            News(null, mapOf("begin" to mapOf("ago_ms" to within(agoMs), "by_key" to byKey)))

        fun devices() = News(null, "devices")

        /** An activity is in front and has no web view. */
        fun bare() = News(null, "bare")

        /** In mm/s², along the screen's axes: right, top, out of it. */
        fun motion(agoMs: Long, x: Int, y: Int, z: Int) =
            News(null, mapOf("motion" to mapOf("ago_ms" to within(agoMs), "x" to x, "y" to y, "z" to z)))

        private fun switch(what: String, on: Boolean) = around(what, "on", on)

        private fun around(what: String, name: String, value: Any) =
            News(what, mapOf("around" to mapOf("what" to what, name to value)))

        private fun within(ms: Long) = ms.coerceIn(0, Int.MAX_VALUE.toLong())
    }
}
