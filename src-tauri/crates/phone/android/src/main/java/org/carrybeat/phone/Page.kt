package org.carrybeat.phone

import android.app.Activity
import android.os.Handler
import android.os.SystemClock
import android.view.ViewGroup
import android.webkit.WebView

/**
 * The page's own process. Unless told otherwise Android ends an app whose page's process is gone, and the sound with
 * it; here the page is made anew, by making the activity anew, and the run goes on.
 */
class Page internal constructor(private val handler: Handler, private val post: Post) {
    private val remake = Remake()
    private val dead = ArrayList<WebView>()

    /** The activity has a new web view. Its client must be a guarded one, or this does not compile. */
    @Suppress("UNUSED_PARAMETER")
    fun made(activity: Activity, view: WebView, guard: PageGuard) {
        Letters.lay(view)
        // Wry speaks to the old one until the new one is in its place.
        handler.post { bury() }
        post.tell(News.page(true))
        Phone.of(activity).filled(activity)
    }

    internal fun front(activity: Activity) {
        remake.front()?.let { again(activity, it) }
    }

    internal fun lost(view: WebView): Boolean {
        post.tell(News.page(false))
        (view.parent as? ViewGroup)?.removeView(view)
        dead.add(view)
        val phone = Phone.of(view.context)
        val wait = remake.gone(SystemClock.elapsedRealtime(), phone.isFront)
        val activity = phone.activity
        if (wait != null && activity != null) again(activity, wait)
        return true
    }

    private fun again(activity: Activity, wait: Long) {
        handler.postDelayed({ if (!activity.isFinishing && !activity.isDestroyed) activity.recreate() }, wait)
    }

    private fun bury() {
        dead.forEach { it.destroy() }
        dead.clear()
    }
}

/**
 * What the web view's client carries that keeps the app alive; put into Wry's class when it is built, see
 * `src-tauri/.cargo/config.toml`.
 */
interface PageGuard {
    /** For the client's `onRenderProcessGone`, whose answer it gives. */
    fun gone(view: WebView): Boolean = Phone.of(view.context).page.lost(view)
}
