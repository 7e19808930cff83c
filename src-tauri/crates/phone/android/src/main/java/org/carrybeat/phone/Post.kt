package org.carrybeat.phone

/**
 * Carries news to Rust: how things stand at once when somebody begins to listen, then what is new.
 *
 * The channel belongs to the process, not to an activity: it goes on while none is there.
 */
class Post {
    private val standing = LinkedHashMap<String, News>()
    private var to: ((Any) -> Unit)? = null

    /** Somebody listens. */
    val isHeard: Boolean
        @Synchronized get() = to != null

    @Synchronized
    fun tell(news: News) {
        val key = news.key
        if (key != null) {
            if (standing[key]?.json == news.json) return
            standing[key] = news
        }
        to?.invoke(news.json)
    }

    /** The one who listened before, a page's process ago, hears nothing more. */
    @Synchronized
    fun listen(to: (Any) -> Unit) {
        this.to = to
        standing.values.forEach { to(it.json) }
    }
}
