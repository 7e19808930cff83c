package org.carrybeat.phone

import android.app.Activity
import android.os.Handler

/**
 * An activity in front that shows nothing: the one before was closed or swiped away in a run, the app's window went
 * with it, and the process lived on. Rust hears nothing of a second activity, so it is told, again and again until
 * the web view is there.
 *
 * Not as long as the old activity with its web view is on its way out: a window that is made then could be made for
 * that one, and what Wry knows of the old page, by the same name, is taken down with it.
 */
internal class Bare(private val handler: Handler, private val post: Post) {
    private var front: Activity? = null

    /** The activity that has a web view. */
    private var filled: Activity? = null
    private val later = Runnable { look() }

    fun front(activity: Activity) {
        front = activity
        lookIn(FIRST_MS)
    }

    fun behind() {
        front = null
        handler.removeCallbacks(later)
    }

    /** It has a web view now. */
    fun filled(activity: Activity) {
        filled = activity
    }

    /** An activity goes; whether the web view goes with it. */
    fun gone(activity: Activity): Boolean {
        if (activity !== filled) return false
        filled = null
        return true
    }

    private fun look() {
        if (front == null || front === filled) return
        if (filled == null) post.tell(News.bare())
        lookIn(AGAIN_MS)
    }

    private fun lookIn(ms: Long) {
        handler.removeCallbacks(later)
        handler.postDelayed(later, ms)
    }

    companion object {
        /** Longer than an activity takes to go, shorter than somebody looks at an empty screen. Source: ours. */
        const val FIRST_MS = 700L
        const val AGAIN_MS = 1_000L
    }
}
