package org.carrybeat.phone

import android.app.Activity
import android.app.KeyguardManager
import android.content.ClipData
import android.content.Context
import android.content.Intent
import android.os.Handler
import androidx.core.content.FileProvider
import java.io.File
import java.io.IOException
import java.util.concurrent.Executor

/**
 * Hands a file to another app. It is copied first, into the one folder that other apps may be let into, which is
 * emptied each time: the records' own folder stays shut. On a locked phone it asks for the lock to be opened.
 */
internal class Share(private val context: Context, private val disk: Executor, private val handler: Handler) {
    fun share(path: String, activity: Activity, done: (String?) -> Unit) {
        disk.execute {
            try {
                val copy = copy(File(path), File(context.cacheDir, FOLDER))
                handler.post {
                    offer(copy, activity)
                    done(null)
                }
            } catch (error: IOException) {
                val what = "$path cannot be copied: ${error.message}; free some space and try again"
                handler.post { done(what) }
            }
        }
    }

    private fun offer(file: File, activity: Activity) {
        val guard = context.getSystemService(Context.KEYGUARD_SERVICE) as KeyguardManager
        if (!guard.isKeyguardLocked) return choose(file, activity)
        guard.requestDismissKeyguard(
            activity,
            object : KeyguardManager.KeyguardDismissCallback() {
                override fun onDismissSucceeded() = choose(file, activity)
            },
        )
    }

    private fun choose(file: File, activity: Activity) {
        val uri = FileProvider.getUriForFile(context, context.packageName + ".fileprovider", file)
        val send = Intent(Intent.ACTION_SEND)
        send.type = kind(file.name)
        send.putExtra(Intent.EXTRA_STREAM, uri)
        send.clipData = ClipData.newRawUri(file.name, uri)
        send.addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
        activity.startActivity(Intent.createChooser(send, null))
    }

    companion object {
        /** The only folder named in the app's `file_paths.xml`. */
        const val FOLDER = "handed"

        @Throws(IOException::class)
        fun copy(file: File, folder: File): File {
            folder.deleteRecursively()
            if (!folder.mkdirs() && !folder.isDirectory) throw IOException("$folder cannot be made")
            return file.copyTo(File(folder, file.name))
        }

        fun kind(name: String): String =
            when (name.substringAfterLast('.', "").lowercase()) {
                "pdf" -> "application/pdf"
                "csv" -> "text/csv"
                "txt" -> "text/plain"
                "json", "jsonl" -> "application/json"
                "xml" -> "application/xml"
                "svg" -> "image/svg+xml"
                "png" -> "image/png"
                "wav" -> "audio/x-wav"
                "zip" -> "application/zip"
                else -> "application/octet-stream"
            }
    }
}
