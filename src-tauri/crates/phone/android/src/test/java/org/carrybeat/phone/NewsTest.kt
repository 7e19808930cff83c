package org.carrybeat.phone

import org.junit.Assert.assertEquals
import org.junit.Test

class NewsTest {
    @Test
    fun `each news is the one of the examples`() {
        val told =
            listOf(
                News.call(true),
                News.taken(false),
                News.route("speaker"),
                News.route("earpiece"),
                News.route("wired"),
                News.route("wireless"),
                News.route("other"),
                News.volume(40),
                News.silent(true),
                News.saving(true),
                News.held(false),
                News.lit(false),
                News.locked(true),
                News.front(false),
                News.page(false),
                News.battery(15, false),
                News.light(300),
                News.begin(120, false),
                News.begin(1_000, true),
                News.devices(),
                News.bare(),
                News.motion(5, -120, 40, 9807),
            )
        assertEquals(Examples.news, told.map(Examples::json))
    }

    @Test
    fun `numbers stay within what Rust can read`() {
        assertEquals(100, Examples.json(News.volume(130))["around"]["pct"].asInt())
        assertEquals(0, Examples.json(News.battery(-1, true))["battery"]["pct"].asInt())
        assertEquals(0, Examples.json(News.light(-3))["light"]["lux"].asInt())
        assertEquals(0L, Examples.json(News.begin(-7, false))["begin"]["ago_ms"].asLong())
    }

    @Test
    fun `the same again is told once, an event each time`() {
        val heard = Heard()
        heard.post.tell(News.call(true))
        heard.post.tell(News.call(true))
        heard.post.tell(News.devices())
        heard.post.tell(News.devices())
        heard.post.tell(News.call(false))
        val call = { on: Boolean -> """{"around":{"what":"call","on":$on}}""" }
        assertEquals(listOf(call(true), "\"devices\"", "\"devices\"", call(false)), heard.take())
    }

    @Test
    fun `who begins to listen is told how things stand, and no old event`() {
        val post = Post()
        post.tell(News.volume(10))
        post.tell(News.devices())
        post.tell(News.volume(20))
        post.tell(News.lit(true))
        val said = ArrayList<Any>()
        post.listen(said::add)
        assertEquals(listOf(News.volume(20).json, News.lit(true).json), said)
    }
}
